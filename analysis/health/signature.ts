import type { ChannelKey } from '../../schemas/channel.ts';

/** Which units a cause can happen on. */
export type Applicability =
  | 'any'
  | 'water_cooled'
  | 'wastegate'
  | 'variable_geometry'
  | 'recirculation'
  | 'no_sink_sensor';

/**
 * How the channels move under a cause of moderate size, in their units, at the same fuel rate, speed and air.
 * `undefined` channels stay where they are; `'either'` may go both ways, so they neither speak for nor against it.
 */
export type Effects = { readonly [K in ChannelKey]?: number | 'either' };

/** The signature of a cause: in the open regime (fixed turbine, or the actuator at its stop) and in closed-loop boost. */
export type Signature = {
  readonly cause: string;
  readonly appliesTo: Applicability;
  readonly open: Effects;
  /** Left out where closed-loop control makes no difference. */
  readonly closed?: Effects;
  /**
   * Share of its size at load that it shows at low load, with its spread. What goes wrong in the gas path grows with the
   * load; a drifted sensor is off by the same everywhere; a gate that stays shut shows above its opening load alone.
   */
  readonly lowLoad?: { readonly share: number; readonly spread: number };
  /** Relative frequency before any evidence. Common practice, no source; the fleet file and verdicts override it. */
  readonly weight: number;
};
