import { at } from '../detection/linear-algebra.ts';
import { median, medianOfSorted } from '../detection/quantiles.ts';
import { normalQuantile } from '../statistics/normal.ts';
import { kendallVariance, type Reading, seasonsOf } from './readings.ts';

/** Values over time. Without times they are taken as evenly spaced: 0, 1, 2, ... Missing values keep their place in time. */
export type TimedValues = { readonly values: readonly Reading[]; readonly times?: readonly number[] };

/** A line that nearly a third of wild values cannot bend. */
export type SenLine = {
  /** Median of the slopes of all pairs at different times. */
  readonly slope: number;
  /** Median value less slope times median time (Conover). */
  readonly intercept: number;
  /** Median of value less slope times time. */
  readonly interceptOfResiduals: number;
  readonly medianTime: number;
  readonly medianValue: number;
  /** How many values entered. */
  readonly count: number;
};

/** The present values with their times. */
export function presentPairs({ values, times }: TimedValues): { t: number; y: number }[] {
  return values.flatMap((y, i) =>
    y === null || y === undefined ? [] : [{ t: times === undefined ? i : at(times, i), y }],
  );
}

/** Slopes of all pairs of values at different times, ascending. */
function pairSlopes(pairs: readonly { t: number; y: number }[]): Float64Array {
  const slopes = new Float64Array((pairs.length * (pairs.length - 1)) / 2);
  let count = 0;
  for (let j = 1; j < pairs.length; j++) {
    const later = pairs[j] as { t: number; y: number };
    for (let i = 0; i < j; i++) {
      const earlier = pairs[i] as { t: number; y: number };
      if (later.t !== earlier.t) slopes[count++] = (later.y - earlier.y) / (later.t - earlier.t);
    }
  }
  return slopes.subarray(0, count).sort();
}

/**
 * Theil–Sen line. Its cost grows with the square of the number of values: thin beyond some thousand.
 *
 * @returns `undefined` when no two values have different times.
 * @see Sen (1968), Journal of the American Statistical Association 63, 1379-1389; Conover, Practical Nonparametric
 *   Statistics, section 5.5 (intercept).
 */
export function theilSen(timed: TimedValues): SenLine | undefined {
  const pairs = presentPairs(timed);
  const slopes = pairSlopes(pairs);
  if (slopes.length === 0) return undefined;
  const slope = medianOfSorted(slopes);
  const medianTime = median(pairs.map(({ t }) => t)) ?? 0;
  const medianValue = median(pairs.map(({ y }) => y)) ?? 0;
  return {
    slope,
    intercept: medianValue - slope * medianTime,
    interceptOfResiduals: median(pairs.map(({ t, y }) => y - slope * t)) ?? 0,
    medianTime,
    medianValue,
    count: pairs.length,
  };
}

/** Theil–Sen slope of evenly spaced values, per step. */
export function senSlope(values: readonly Reading[]): number | undefined {
  return theilSen({ values })?.slope;
}

/** How the ranks of the interval ends are made whole: to the nearest rank, or by interpolation between two. */
export type RankRule = 'nearest' | 'interpolated';

/**
 * Confidence interval of the Theil–Sen slope.
 *
 * @param timed - Must not be autocorrelated.
 * @param p.confidence - Between 0 and 1, both excluded.
 * @param p.ranks - 'nearest' (default; half goes to the even rank) or 'interpolated' (Gilbert).
 * @param p.varianceFactor - By how much autocorrelation enlarges the variance of the Mann–Kendall statistic. Default 1.
 * @returns `undefined` when there is no slope. The ends stop at the lowest and highest pair slope.
 * @see Sen (1968), eq. 2.6, for the variance with equal values and equal times; Gilbert (1987), Statistical Methods for
 *   Environmental Pollution Monitoring, section 16.5.
 */
export function senSlopeInterval(
  timed: TimedValues,
  p: { confidence: number; ranks?: RankRule; varianceFactor?: number },
): readonly [number, number] | undefined {
  const pairs = presentPairs(timed);
  const slopes = pairSlopes(pairs);
  if (slopes.length === 0) return undefined;
  // Sen's formula lowers the variance for equal times too; the interpolated rule knows equal values only.
  const times = p.ranks === 'interpolated' ? [] : pairs.map(({ t }) => t);
  const plain = kendallVariance(
    pairs.map(({ y }) => y),
    times,
  );
  const variance = plain * (p.varianceFactor ?? 1);
  const spread = normalQuantile(0.5 + p.confidence / 2) * Math.sqrt(variance);
  const [low, high] = [(slopes.length - spread) / 2, (slopes.length + spread) / 2 + 1];
  if (p.ranks === 'interpolated') return [atRank(slopes, low), atRank(slopes, high)];
  return [atRank(slopes, roundHalfEven(low)), atRank(slopes, roundHalfEven(high - 1) + 1)];
}

/** Value at a rank (from 1, may be fractional), held at the ends. */
function atRank(sorted: ArrayLike<number>, rank: number): number {
  const held = Math.min(Math.max(rank, 1), sorted.length);
  const below = Math.floor(held);
  const share = held - below;
  return share === 0
    ? at(sorted, below - 1)
    : at(sorted, below - 1) + share * (at(sorted, below) - at(sorted, below - 1));
}

function roundHalfEven(x: number): number {
  const whole = Math.floor(x);
  if (x - whole === 0.5) return whole % 2 === 0 ? whole : whole + 1;
  return Math.round(x);
}

/**
 * Theil–Sen line over pairs of the same season only.
 *
 * @param values - Evenly spaced; a missing one keeps its place.
 * @param period - Values a year (or other cycle).
 * @returns Slope per cycle and intercept at the first value; `undefined` when no season has two values.
 * @see Hirsch, Slack & Smith (1982), Water Resources Research 18, 107-121.
 */
export function theilSenSeasonal(
  values: readonly Reading[],
  period: number,
): { readonly slope: number; readonly intercept: number } | undefined {
  const slopes = seasonsOf(values, period).flatMap((season) => [...pairSlopes(presentPairs({ values: season }))]);
  const slope = median(slopes);
  const pairs = presentPairs({ values });
  if (slope === undefined) return undefined;
  const medianTime = median(pairs.map(({ t }) => t)) ?? 0;
  return { slope, intercept: (median(pairs.map(({ y }) => y)) ?? 0) - (medianTime / period) * slope };
}
