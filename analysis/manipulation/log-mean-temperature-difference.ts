import type { Arrangement } from './arrangement.ts';
import { isTemperatureSet, type StreamTemperatures } from './stream-temperatures.ts';
import { transferUnits } from './transfer-units.ts';

/**
 * Log mean temperature difference in K between two streams.
 *
 * @param p.parallel - `true` when both streams enter at one end; otherwise counterflow, which is also the difference that
 *   the correction factor multiplies, whatever the real arrangement.
 * @returns `undefined` when the difference at an end is not above zero.
 */
export function logMeanTemperatureDifferenceK(p: StreamTemperatures & { parallel?: boolean }): number | undefined {
  const [atOne, atOther] = p.parallel
    ? [p.hotInC - p.coldInC, p.hotOutC - p.coldOutC]
    : [p.hotInC - p.coldOutC, p.hotOutC - p.coldInC];
  if (!(atOne > 0 && atOther > 0)) return undefined;
  const excess = (atOne - atOther) / atOther;
  return excess === 0 ? atOne : (atOne - atOther) / Math.log1p(excess);
}

/**
 * Correction factor F that multiplies the COUNTERFLOW log mean difference for another arrangement.
 *
 * It is the ratio of the transfer units that counterflow needs to those that the arrangement needs, so every arrangement
 * with an effectiveness relation has one, and swapping hot and cold changes nothing.
 *
 * @returns 1 when one stream keeps its temperature; `undefined` when no surface of that arrangement gives these
 *   temperatures, or when they break the second law or carry no heat.
 * @see Fakheri, J. Heat Transfer 125 (2003) 527 for shells; Shah and Sekulic (2003), section 3.7.
 */
export function correctionFactor(p: StreamTemperatures & { arrangement: Arrangement }): number | undefined {
  if (!isTemperatureSet(p)) return undefined;
  const hotFallK = p.hotInC - p.hotOutC;
  const coldRiseK = p.coldOutC - p.coldInC;
  const largerK = Math.max(hotFallK, coldRiseK);
  if (!(largerK > 0)) return undefined;
  // The stream whose temperature moves most has the smaller capacity rate.
  const state = {
    effectiveness: largerK / (p.hotInC - p.coldInC),
    capacityRatio: Math.min(hotFallK, coldRiseK) / largerK,
  };
  const needed = transferUnits({ arrangement: p.arrangement, ...state });
  const inCounterflow = transferUnits({ arrangement: { kind: 'counterflow' }, ...state });
  return needed === undefined || inCounterflow === undefined || needed === 0 ? undefined : inCounterflow / needed;
}
