/**
 * How the two streams of a heat exchanger run to each other.
 *
 * - `crossflowBothUnmixed`: fins on both sides, the usual air-to-air charge-air cooler; exact series.
 * - `crossflowBothUnmixedApproximate`: its textbook short formula, up to 4 % off; only to compare with charts.
 * - `crossflowCminMixed`, `crossflowCmaxMixed`: one stream mixes across its path. Which one is named by its capacity rate,
 *   not by its side: when flows change the minimum can move to the other stream, and the relation changes with it.
 * - `shells`: shell and tube, each shell with two (4, 6, ...) tube passes; shells in series overall in counterflow.
 */
export type Arrangement =
  | { readonly kind: 'counterflow' | 'parallelFlow' }
  | {
      readonly kind:
        | 'crossflowBothUnmixed'
        | 'crossflowBothUnmixedApproximate'
        | 'crossflowCminMixed'
        | 'crossflowCmaxMixed';
    }
  | { readonly kind: 'shells'; readonly shellCount: number };

/** Capacity rate ratio `Cmin / Cmax`, 0 to 1: 0 when one stream keeps its temperature. */
export function isCapacityRatio(capacityRatio: number): boolean {
  return capacityRatio >= 0 && capacityRatio <= 1;
}

/**
 * Arrangement of a cooler with one mixed stream, named by the mixed side.
 *
 * @param p.mixedKwPerK - Capacity rate of the stream that mixes, kW/K.
 * @param p.unmixedKwPerK - Capacity rate of the other, kW/K.
 */
export function crossflowOneMixed(p: { mixedKwPerK: number; unmixedKwPerK: number }): Arrangement {
  return { kind: p.mixedKwPerK <= p.unmixedKwPerK ? 'crossflowCminMixed' : 'crossflowCmaxMixed' };
}
