import type { ChannelKey } from '../../schemas/channel.ts';
import type { Cause } from '../../schemas/finding.ts';
import type { Unit } from '../../schemas/unit.ts';
import type { MeanDeparture } from '../detection/chart.ts';
import { isBoostRegulated } from './boost-regime.ts';
import { EVIDENCE_CHANNELS, TYPICAL_DEPARTURE } from './evidence-channels.ts';
import type { Effects, Signature } from './signature.ts';
import { SIGNATURES } from './signatures.ts';

/** How far a channel has departed, over all and at low load alone, and how surely that is known; in the channel's unit. */
export type Departure = MeanDeparture & { readonly low?: MeanDeparture };
export type Departures = { readonly [K in ChannelKey]?: Departure };

/** Sizes of a fault that are tried, as multiples of the signature's moderate size; equally likely on a log scale. */
const SIZES = [0.2, 0.3, 0.45, 0.7, 1, 1.5, 2.2, 3.3, 5] as const;

/** An engine differs from the calculation by about this share of each effect. */
const EFFECT_SPREAD_RATIO = 0.35;

/** Share of a typical departure by which a channel that should stand still may stray, for each unit of size. */
const STRAY_RATIO = 0.1;

/** Weight of 'unknown' beside a weight of one for a usual cause. */
const UNKNOWN_WEIGHT = 0.8;

/** What a charge-air cooler of usual effectiveness leaves of a temperature rise. Common practice, no source. */
const UNCOOLED_SHARE = 0.18;

/** Causes below this probability are not worth a fitter's time; what they held goes to none of the others. */
const LEAST_PROBABILITY = 0.02;

/**
 * Ranks the causes of a pattern of departures by Bayes' rule: prior weight times the likelihood of the whole pattern
 * under the cause's signature, the size of the fault and the regime of boost control being averaged over. 'unknown'
 * competes with the rest: it allows every channel to depart on its own and therefore explains nothing well.
 *
 * @param p.departures - Departures of the channels that were judged; channels without one are silent.
 * @param p.subject - What the finding is about: a cause that leaves it alone is no cause of it, and departures of the
 *   lubrication say nothing of the gas path, since a unit may have two troubles at once.
 * @param p.unit - Decides which causes can happen on it and gives its own prior weights.
 * @param p.learnt - Weights learnt from what fitters found, multiplied onto the priors.
 * @returns Causes with their probabilities, most probable first, the improbable ones left out; the sum may therefore be
 *   a little below one. Only 'unknown' when there is no evidence.
 */
export function rankCauses(p: {
  readonly departures: Departures;
  readonly subject?: ChannelKey | undefined;
  readonly unit: Unit;
  readonly learnt?: { readonly [cause: string]: number };
}): readonly Cause[] {
  const scored = scoreCauses(p);
  const best = Math.max(...scored.map((entry) => entry.score));
  const total = scored.reduce((sum, entry) => sum + Math.exp(entry.score - best), 0);
  return scored
    .map((entry) => ({ cause: entry.cause, probability: Number((Math.exp(entry.score - best) / total).toFixed(3)) }))
    .filter((entry) => entry.probability >= LEAST_PROBABILITY)
    .sort((a, b) => b.probability - a.probability || (a.cause < b.cause ? -1 : 1));
}

/** What the ranking is asked; see {@link rankCauses}. */
type Question = Parameters<typeof rankCauses>[0];

/**
 * The logarithms of prior times likelihood that {@link rankCauses} makes probabilities of, for taking a ranking apart.
 *
 * @returns In the order of the signatures, 'unknown' last; 'unknown' alone when there is no evidence.
 */
export function scoreCauses(p: Question): readonly { readonly cause: string; readonly score: number }[] {
  const evidence = evidenceOf(p.departures, p.subject);
  if (evidence.length === 0) return [{ cause: 'unknown', score: 0 }];
  const prior = (cause: string) => (p.unit.priors?.[cause] ?? 1) * (p.learnt?.[cause] ?? 1);
  const scored = SIGNATURES.filter(
    (signature) => applies(signature, p.unit) && canExplain(signature, evidence, p.subject),
  ).map((signature) => ({
    cause: signature.cause,
    score: Math.log(signature.weight * prior(signature.cause)) + logLikelihood(signature, evidence, p.unit),
  }));
  scored.push({
    cause: 'unknown',
    score: Math.log(UNKNOWN_WEIGHT * prior('unknown')) + logMeanExp(SIZES.map((size) => logUnknown(evidence, size))),
  });
  return scored;
}

type Evidence = readonly {
  readonly key: ChannelKey;
  readonly departure: number;
  readonly variance: number;
  readonly low?: { readonly departure: number; readonly variance: number };
}[];

/** What most faults of the gas path show at low load, as a share of their size at load. Memory of how engines answer. */
const USUAL_LOW_LOAD = { share: 0.3, spread: 0.25 } as const;

const LUBRICATION: readonly ChannelKey[] = ['oilPressure', 'turbochargerOilTemperature', 'crankcasePressure'];

/** Channels whose trouble is measured by another: what moves the one moves the other. */
const MEASURED_BY: { readonly [K in ChannelKey]?: readonly ChannelKey[] } = {
  coolerEffectiveness: ['coolerApproach', 'chargeAirTemperature', 'compressorOutletTemperature'],
  compressorEfficiency: ['compressorEfficiency', 'compressorOutletTemperature', 'boost'],
};

/** Charge-air temperature and its rise above the medium rest on the same sensor: one of them is evidence. */
function evidenceOf(departures: Departures, subject: ChannelKey | undefined): Evidence {
  const ofOil = subject !== undefined && LUBRICATION.includes(subject);
  return EVIDENCE_CHANNELS.flatMap((key) => {
    const entry = departures[key];
    if (entry === undefined || (key === 'chargeAirTemperature' && departures.coolerApproach !== undefined)) return [];
    if (subject !== undefined && key !== 'turbochargerOilTemperature' && LUBRICATION.includes(key) !== ofOil) return [];
    const low = entry.low && { departure: entry.low.departure, variance: entry.low.standardUncertainty ** 2 };
    return [
      {
        key,
        departure: entry.departure,
        variance: entry.standardUncertainty ** 2,
        ...(low && !LUBRICATION.includes(key) ? { low } : {}),
      },
    ];
  });
}

/**
 * Whether a cause can be judged and can be the cause of this finding: it moves the subject, and at least one observed
 * channel to a known side (a sensor fault may go either way, yet moves nothing else).
 */
function canExplain(signature: Signature, evidence: Evidence, subject: ChannelKey | undefined): boolean {
  const effects = [signature.open, signature.closed ?? {}];
  const moves = (key: ChannelKey) => effects.some((one) => one[key] !== undefined);
  if (subject !== undefined && !(MEASURED_BY[subject] ?? [subject]).some(moves)) return false;
  const ofSensor = isSensorCause(signature.cause);
  return evidence.some(({ key }) =>
    effects.some((one) => (ofSensor ? one[key] !== undefined : typeof one[key] === 'number')),
  );
}

/** Whether a cause is a fault of a sensor or of how it is set down, not of the engine. */
export function isSensorCause(cause: string): boolean {
  return cause.startsWith('sensor_') || cause === 'pressure_reference_mixup';
}

function applies(signature: Signature, unit: Unit): boolean {
  const { boostControl, cooler } = unit.engine;
  switch (signature.appliesTo) {
    case 'any':
      return true;
    case 'water_cooled':
      return cooler !== 'air_to_air';
    case 'wastegate':
      return boostControl === 'wastegate' || boostControl === 'electronic';
    case 'variable_geometry':
      return boostControl === 'variable_geometry';
    case 'recirculation':
      return unit.sensors.egrMassFlow !== undefined || unit.sensors.egrTemperature !== undefined;
    case 'no_sink_sensor':
      return (
        unit.sensors.ambientAirTemperature === undefined &&
        unit.sensors.coolerWaterInletTemperature === undefined &&
        unit.sensors.seaWaterTemperature === undefined
      );
  }
}

function logLikelihood(signature: Signature, evidence: Evidence, unit: Unit): number {
  const regulated = isBoostRegulated(unit);
  const regimes: readonly Effects[] =
    signature.closed !== undefined && regulated ? [signature.open, signature.closed] : [signature.open];
  const lowLoad = signature.lowLoad ?? USUAL_LOW_LOAD;
  return logMeanExp(
    regimes.flatMap((effects) => SIZES.map((size) => logDensity({ effects, lowLoad, size }, evidence))),
  );
}

function logDensity(
  p: { effects: Effects; lowLoad: { share: number; spread: number }; size: number },
  evidence: Evidence,
): number {
  let sum = 0;
  for (const { key, departure, variance, low } of evidence) {
    const effect = p.effects[key] ?? 0;
    const typical = TYPICAL_DEPARTURE[key] * p.size;
    const either = effect === 'either';
    const mean = either ? 0 : (effect + carriedHeat(p.effects, key)) * p.size;
    const spread = either ? typical * typical : (EFFECT_SPREAD_RATIO * mean) ** 2 + (STRAY_RATIO * typical) ** 2;
    sum += logNormal(departure - mean, variance + spread);
    if (low === undefined) continue;
    // At low load the same trouble shows a share of what it shows at load: of what was seen there, for size is settled by it.
    const shown = effect === 0 && mean === 0 ? 0 : departure;
    sum += logNormal(
      low.departure - p.lowLoad.share * shown,
      low.variance + (p.lowLoad.spread * shown) ** 2 + (STRAY_RATIO * typical) ** 2,
    );
  }
  return sum;
}

/**
 * Air that leaves the compressor hotter leaves the cooler hotter too, by the share that the cooler does not take; the
 * signatures give only what comes on top.
 */
function carriedHeat(effects: Effects, key: ChannelKey): number {
  if (key !== 'coolerApproach' && key !== 'chargeAirTemperature') return 0;
  const outlet = effects.compressorOutletTemperature;
  return typeof outlet === 'number' && effects[key] === undefined ? UNCOOLED_SHARE * outlet : 0;
}

function logUnknown(evidence: Evidence, size: number): number {
  let sum = 0;
  for (const { key, departure, variance, low } of evidence) {
    const spread = (TYPICAL_DEPARTURE[key] * size) ** 2;
    sum += logNormal(departure, variance + spread);
    if (low !== undefined) sum += logNormal(low.departure, low.variance + spread / 2);
  }
  return sum;
}

/** Logarithm of the normal density of `x` about zero, but for the constant that all hypotheses share. */
function logNormal(x: number, variance: number): number {
  return -0.5 * ((x * x) / variance + Math.log(variance));
}

function logMeanExp(terms: readonly number[]): number {
  const best = Math.max(...terms);
  return best + Math.log(terms.reduce((sum, term) => sum + Math.exp(term - best), 0) / terms.length);
}
