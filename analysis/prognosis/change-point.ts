import { at } from '../detection/linear-algebra.ts';
import { mean, midRanks, standardDeviation } from '../detection/robust-scale.ts';
import { kolmogorovUpperTail } from '../statistics/kolmogorov.ts';

/** Pettitt's test for one change of level. */
export type PettittTest = {
  /** Statistic after each value. */
  readonly path: readonly number[];
  /** Largest absolute value of the path before the last value. */
  readonly statistic: number;
  /** Values before the change: the new level begins with the next. */
  readonly before: number;
  /** Approximate and two-sided; good below 0.5. */
  readonly probability: number;
};

/**
 * Pettitt's rank test: whether and where the level of a series changed once, whatever the law of its values.
 *
 * @param values - In order of time; equal ones share their mean rank.
 * @returns `undefined` for fewer than two values.
 * @see Pettitt (1979), Applied Statistics 28, 126-135.
 */
export function pettitt(values: readonly number[]): PettittTest | undefined {
  const n = values.length;
  if (n < 2) return undefined;
  const path = runningSums(midRanks(values).map((rank) => 2 * rank - (n + 1)));
  const { position, size } = extreme(path.slice(0, -1));
  const probability = Math.min(1, 2 * Math.exp((-6 * size * size) / (n ** 3 + n ** 2)));
  return { path, statistic: size, before: position + 1, probability };
}

function runningSums(values: readonly number[]): number[] {
  let sum = 0;
  return values.map((value) => {
    sum += value;
    return sum;
  });
}

/** First position of the largest absolute value. */
function extreme(values: readonly number[]): { position: number; size: number } {
  let best = { position: 0, size: -1 };
  for (const [position, value] of values.entries())
    if (Math.abs(value) > best.size) best = { position, size: Math.abs(value) };
  return best;
}

/** What the running sum of deviations from the mean says about one change of level. */
export type DeviationSums = {
  /** Running sum of deviations from the mean; ends at 0. */
  readonly path: readonly number[];
  readonly maximum: number;
  /** Values before the change, where the path is furthest from 0. */
  readonly before: number;
  /** Largest distance from 0, rescaled by standard deviation and sqrt(n): Buishand's Q, and the CUSUM test of a mean. */
  readonly distance: number;
  /** Highest less lowest point of the path (0 included), rescaled likewise: Buishand's R. */
  readonly range: number;
  /** Buishand's U: the squares of the path. */
  readonly squares: number;
  /** Worsley's V: the path weighted by how much each place could tell. */
  readonly likelihoodRatio: number;
  /** Probability of so large a `distance` without a change, for many values. */
  readonly probability: number;
};

/**
 * Buishand's and Worsley's statistics for one change of level in normal values.
 *
 * @param divisor - Of the standard deviation: 'n-1' (default) or 'n'.
 * @returns `undefined` for fewer than three values or when all are equal.
 * @see Buishand (1982), Journal of Hydrology 58, 11-27; Worsley (1979), Journal of the American Statistical Association
 *   74, 365-367; Ploberger & Krämer (1992), Econometrica 60, 271-285 (the CUSUM test).
 */
export function deviationSums(values: readonly number[], divisor: 'n-1' | 'n' = 'n-1'): DeviationSums | undefined {
  const centre = mean(values);
  const sigma = standardDeviation(values, divisor);
  const n = values.length;
  if (centre === undefined || sigma === undefined || n < 3 || !(sigma > 0)) return undefined;
  const path = runningSums(values.map((x) => x - centre));
  const { position, size } = extreme(path.slice(0, -1));
  const scale = sigma * Math.sqrt(n);
  let [squares, likelihoodRatio, lowest, highest] = [0, 0, 0, 0];
  for (const [i, sum] of path.slice(0, -1).entries()) {
    squares += (sum / sigma) ** 2;
    likelihoodRatio = Math.max(likelihoodRatio, Math.abs(sum) / (sigma * Math.sqrt((i + 1) * (n - i - 1))));
    lowest = Math.min(lowest, sum);
    highest = Math.max(highest, sum);
  }
  return {
    path,
    maximum: size,
    before: position + 1,
    distance: size / scale,
    range: (highest - lowest) / scale,
    squares: squares / (n * (n + 1)),
    likelihoodRatio,
    probability: kolmogorovUpperTail(size / scale),
  };
}

/**
 * Standard normal homogeneity test: the largest likelihood ratio of one change of level.
 *
 * @param divisor - Of the standard deviation; 'n-1' by default.
 * @returns The statistic and the values before the change; `undefined` for fewer than three values or when all are equal.
 * @see Alexandersson (1986), Journal of Climatology 6, 661-675.
 */
export function standardNormalHomogeneity(
  values: readonly number[],
  divisor: 'n-1' | 'n' = 'n-1',
): { readonly statistic: number; readonly before: number } | undefined {
  const centre = mean(values);
  const sigma = standardDeviation(values, divisor);
  const n = values.length;
  if (centre === undefined || sigma === undefined || n < 3 || !(sigma > 0)) return undefined;
  const path = runningSums(values.map((x) => (x - centre) / sigma));
  const last = at(path, n - 1);
  const ratios = path.slice(0, -1).map((sum, i) => (sum * sum) / (i + 1) + (last - sum) ** 2 / (n - i - 1));
  const { position, size } = extreme(ratios);
  return { statistic: size, before: position + 1 };
}
