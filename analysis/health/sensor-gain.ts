import type { ChannelKey } from '../../schemas/channel.ts';
import type { Cause } from '../../schemas/finding.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import type { Unit } from '../../schemas/unit.ts';
import { CHANNEL_RULES, isFitted } from '../detection/channel-table.ts';
import { normalDensity } from '../statistics/normal.ts';
import { gaussLegendre } from '../statistics/quadrature.ts';
import { EVIDENCE_CHANNELS, TYPICAL_DEPARTURE } from './evidence-channels.ts';
import { type Departures, rankCauses } from './rank-causes.ts';
import { SIGNATURES } from './signatures.ts';

/** A sensor that is not fitted, and how much it would tell. */
export type SensorGain = {
  readonly signal: SignalKey;
  /** The channel that it would open and that separates the causes best. */
  readonly channel: ChannelKey;
  /** Expected information about the cause, in bits: 1 halves the doubt once. */
  readonly bits: number;
};

/** Sensors that open a channel of evidence. One of each: which signal serves depends on the cooler's medium. */
const CANDIDATES: readonly SignalKey[] = [
  'boostPressure',
  'intakeManifoldTemperature',
  'compressorOutletTemperature',
  'chargeAirCoolerDifferentialPressure',
  'airFilterDifferentialPressure',
  'exhaustTemperature',
  'turbineOutletTemperature',
  'turbineInletPressure',
  'turbochargerSpeed',
  'oilPressure',
  'turbochargerOilTemperature',
  'crankcasePressure',
  'ambientAirTemperature',
  'coolerWaterInletTemperature',
];

/** As in the ranking of causes: how far an engine differs from a calculated effect, and a still channel strays. */
const EFFECT_SPREAD_RATIO = 0.35;
const STRAY_RATIO = 0.1;

/**
 * Sensors that are not fitted, by how much each would tell about the cause: the mutual information between the cause
 * and what the new channel would show under each cause's signature at its moderate size.
 *
 * @param unit - Decides what is fitted and which causes can happen.
 * @param causes - Of an open finding, ranked; left out, every cause of the unit is taken in turn as the true one, and
 *   the gain is the mean over what its present sensors would leave open.
 * @returns Best first; those that tell less than 0.01 bit are left out.
 */
export function sensorGains(unit: Unit, causes?: readonly Cause[]): readonly SensorGain[] {
  const doubts = causes === undefined ? usualDoubts(unit) : [{ weight: 1, causes }];
  const total = doubts.reduce((sum, { weight }) => sum + weight, 0);
  return CANDIDATES.flatMap((signal): SensorGain[] => {
    const opened = openedChannels(unit, signal);
    const gains = opened.map((channel) => ({
      signal,
      channel,
      bits: doubts.reduce((sum, doubt) => sum + doubt.weight * information(doubt.causes, channel), 0) / total,
    }));
    const best = gains.sort((a, b) => b.bits - a.bits)[0];
    return best === undefined || best.bits < LEAST_BITS ? [] : [{ ...best, bits: Number(best.bits.toFixed(3)) }];
  }).sort((a, b) => b.bits - a.bits || (a.signal < b.signal ? -1 : 1));
}

const LEAST_BITS = 0.01;

/** Channels of evidence that the unit would have with one more sensor, and has not now. */
function openedChannels(unit: Unit, signal: SignalKey): readonly ChannelKey[] {
  if (unit.sensors[signal] !== undefined) return [];
  const extended: Unit = { ...unit, sensors: { ...unit.sensors, [signal]: {} } };
  const before = fittedChannels(unit);
  return fittedChannels(extended).filter((key) => !before.includes(key));
}

function fittedChannels(unit: Unit): readonly ChannelKey[] {
  return CHANNEL_RULES.filter((rule) => EVIDENCE_CHANNELS.includes(rule.key) && isFitted(rule, unit)).map(
    ({ key }) => key,
  );
}

/** What the present sensors would leave open if each cause in turn were true at its moderate size. */
function usualDoubts(unit: Unit): readonly { weight: number; causes: readonly Cause[] }[] {
  const fitted = fittedChannels(unit);
  return SIGNATURES.flatMap((signature) => {
    const departures: { [K in ChannelKey]?: { departure: number; standardUncertainty: number } } = {};
    for (const rule of CHANNEL_RULES) {
      const effect = signature.open[rule.key] ?? 0;
      if (!fitted.includes(rule.key) || effect === 'either') continue;
      departures[rule.key] = { departure: effect, standardUncertainty: rule.leastSd / 2 };
    }
    const causes = rankCauses({ departures: departures as Departures, unit });
    // A cause that cannot happen on this unit, or that no fitted channel sees, is never in doubt here.
    return causes.some(({ cause }) => cause === signature.cause) ? [{ weight: signature.weight, causes }] : [];
  });
}

/** Mutual information in bits between the cause and a normal reading of the channel. */
function information(causes: readonly Cause[], channel: ChannelKey): number {
  const spread = CHANNEL_RULES.find(({ key }) => key === channel)?.leastSd ?? 0;
  const typical = TYPICAL_DEPARTURE[channel];
  const parts = causes.map(({ cause, probability }) => {
    const effect = SIGNATURES.find((one) => one.cause === cause)?.open[channel] ?? 0;
    const wide = effect === 'either' || cause === 'unknown';
    const mean = typeof effect === 'number' ? effect : 0;
    const sd = wide
      ? Math.hypot(spread, typical)
      : Math.hypot(spread, EFFECT_SPREAD_RATIO * mean, STRAY_RATIO * typical);
    return { probability, mean, sd, moved: effect !== 0 };
  });
  const total = parts.reduce((sum, { probability }) => sum + probability, 0);
  // A channel that no named cause moves could only speak for 'unknown'; nobody buys a sensor for that.
  if (parts.length < 2 || parts.every(({ moved }) => !moved)) return 0;
  const reach = (side: 1 | -1) => Math.max(...parts.map(({ mean, sd }) => side * mean + 5 * sd));
  // A panel for every narrow part, or a sharp peak would fall between the nodes.
  const edges = [
    ...new Set([-reach(-1), ...parts.flatMap(({ mean, sd }) => [mean - 3 * sd, mean, mean + 3 * sd]), reach(1)]),
  ].sort((a, b) => a - b);
  let bits = 0;
  for (let i = 0; i + 1 < edges.length; i += 1) {
    const rule = gaussLegendre(12, { low: edges[i] as number, high: edges[i + 1] as number });
    rule.nodes.forEach((x, at) => {
      const densities = parts.map(({ probability, mean, sd }) => ({
        share: probability / total,
        density: normalDensity((x - mean) / sd) / sd,
      }));
      const mixture = densities.reduce((sum, { share, density }) => sum + share * density, 0);
      for (const { share, density } of densities)
        if (density > 0) bits += (rule.weights[at] as number) * share * density * Math.log2(density / mixture);
    });
  }
  return Math.max(0, bits);
}
