import type { Arrangement } from './arrangement.ts';
import { type CapacityRates, capacityRatioOf } from './cooler-rating.ts';
import { logMeanTemperatureDifferenceK } from './log-mean-temperature-difference.ts';
import type { StreamTemperatures } from './stream-temperatures.ts';
import { transferUnits } from './transfer-units.ts';

/**
 * Surface in m2 that gives this effectiveness.
 *
 * @param p.overallWPerM2K - Overall coefficient U, W/(m2 K), above zero.
 * @returns `undefined` at or above the arrangement's ceiling, and when a rate or the coefficient is not above zero.
 */
export function areaOfEffectivenessM2(
  p: CapacityRates & { arrangement: Arrangement; overallWPerM2K: number; effectiveness: number },
): number | undefined {
  const least = Math.min(p.hotKwPerK, p.coldKwPerK);
  if (!(least > 0 && p.overallWPerM2K > 0)) return undefined;
  const ntu = transferUnits({
    arrangement: p.arrangement,
    effectiveness: p.effectiveness,
    capacityRatio: capacityRatioOf(p),
  });
  return ntu === undefined ? undefined : (ntu * least * 1000) / p.overallWPerM2K;
}

/**
 * Surface in m2, or overall coefficient in W/(m2 K), whichever is not given: `Q = U A F LMTD`, so one is `Q / (other F LMTD)`.
 *
 * @param p.heatRateKw - Heat moved, kW.
 * @param p.given - The other of the two, above zero.
 * @param p.correctionFactor - F, above 0 to 1; 1 for counterflow and for parallel flow with its own log mean difference.
 * @param p.parallel - `true` when both streams enter at one end.
 * @returns `undefined` when an end difference is not above zero, or a factor is out of range.
 */
export function areaOrCoefficient(
  p: StreamTemperatures & { heatRateKw: number; given: number; correctionFactor: number; parallel?: boolean },
): number | undefined {
  const meanK = logMeanTemperatureDifferenceK(p);
  if (meanK === undefined || !(p.given > 0 && p.correctionFactor > 0 && p.correctionFactor <= 1)) return undefined;
  return (p.heatRateKw * 1000) / (p.given * p.correctionFactor * meanK);
}
