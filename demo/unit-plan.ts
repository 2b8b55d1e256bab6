import type { Duty, Phase } from './duty/duty.ts';
import type { EngineSpec } from './engine/engine-spec.ts';
import type { ModelSignal } from './engine/outputs.ts';
import type { FaultPlan } from './fault-plan.ts';
import type { SensorFit } from './sensors.ts';
import type { Climate } from './weather.ts';

/** Something awkward about a healthy log that must not become a finding. */
export type Nuisance =
  | { readonly kind: 'not_available'; readonly key: ModelSignal; readonly startMs: number; readonly endMs: number }
  /** The logger's clock falls back: the rows of some minutes are written a second time. */
  | { readonly kind: 'repeated_rows'; readonly day: number; readonly count: number }
  /** Rows that no reader can use: cut short, text for a number, a value out of all range. */
  | { readonly kind: 'bad_rows'; readonly day: number };

/** Everything that makes one unit of the scenario what it is. */
export type UnitPlan = {
  readonly id: string;
  /** Who works the engine, where two engines are worked as one; left out, the unit's own. */
  readonly crew?: string;
  readonly marine: boolean;
  readonly spec: EngineSpec;
  readonly duty: Duty;
  readonly climate: Climate;
  readonly sensors: readonly SensorFit[];
  readonly sampleS: number;
  readonly startHours: number;
  readonly faults: readonly FaultPlan[];
  readonly nuisances: readonly Nuisance[];
  /** Days (from 0) with a mountain pass in the second shift. */
  readonly passDays?: readonly number[];
  readonly pass?: readonly Phase[];
  /** Share of working days on which the unit really goes out. */
  readonly availability: number;
};
