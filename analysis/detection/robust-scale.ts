import { normalQuantile } from '../statistics/normal.ts';
import { at, dot } from './linear-algebra.ts';
import { median, quantile } from './quantiles.ts';

/** Upper quartile of the standard normal law: the median absolute deviation of normal data is this many standard deviations. */
export const NORMAL_UPPER_QUARTILE = normalQuantile(0.75);

/** Makes the median absolute deviation an estimate of the standard deviation of normal data. */
export const MAD_TO_SIGMA = 1 / NORMAL_UPPER_QUARTILE;

/** Makes the interquartile range an estimate of the standard deviation of normal data. */
export const IQR_TO_SIGMA = 1 / (2 * NORMAL_UPPER_QUARTILE);

/** Arithmetic mean; two passes, so that a large offset does not cost digits. `undefined` when there are no values. */
export function mean(values: readonly number[]): number | undefined {
  if (values.length === 0) return undefined;
  const first = values.reduce((sum, x) => sum + x, 0) / values.length;
  return first + values.reduce((sum, x) => sum + (x - first), 0) / values.length;
}

/**
 * Standard deviation about the mean.
 *
 * @param divisor - 'n-1' (default) for a sample, 'n' for a whole population.
 * @returns `undefined` when too few values: two for 'n-1', one for 'n'.
 */
export function standardDeviation(values: readonly number[], divisor: 'n-1' | 'n' = 'n-1'): number | undefined {
  const centre = mean(values);
  const count = divisor === 'n' ? values.length : values.length - 1;
  if (centre === undefined || count < 1) return undefined;
  const deviations = values.map((x) => x - centre);
  return Math.sqrt(dot(deviations, deviations) / count);
}

/**
 * Median absolute deviation, not scaled to a standard deviation.
 *
 * @param about - The centre; the median of the values unless given. Residuals of a regression are taken about 0.
 * @returns `undefined` when there are no values.
 * @see Rousseeuw & Croux (1993), Journal of the American Statistical Association 88, 1273-1283.
 */
export function medianAbsoluteDeviation(values: readonly number[], about?: number): number | undefined {
  const centre = about ?? median(values);
  return centre === undefined ? undefined : median(values.map((x) => Math.abs(x - centre)));
}

/** Standard deviation of normal data as estimated by the median absolute deviation: half the values may be wild. */
export function robustSigma(values: readonly number[], about?: number): number | undefined {
  const mad = medianAbsoluteDeviation(values, about);
  return mad === undefined ? undefined : mad * MAD_TO_SIGMA;
}

/** Upper less lower quartile, by linear interpolation. `undefined` when there are no values. */
export function interquartileRange(values: readonly number[]): number | undefined {
  const [low, high] = [quantile(values, 0.25), quantile(values, 0.75)];
  return low === undefined || high === undefined ? undefined : high - low;
}

/**
 * Huber's M-estimate of location with the scale held at the median absolute deviation.
 *
 * @param p.tuning - Where the weight begins to fall, in scales; 1.5 keeps 96 % efficiency on normal data.
 * @param p.scale - Held scale; the robust sigma of the values unless given.
 * @returns `undefined` when there are no values; the median when the scale is 0.
 * @see Huber & Ronchetti, Robust Statistics, section 6.
 */
export function huberLocation(
  values: readonly number[],
  p: { tuning?: number; scale?: number } = {},
): number | undefined {
  let centre = median(values);
  const scale = p.scale ?? robustSigma(values);
  if (centre === undefined || scale === undefined || !(scale > 0)) return centre;
  const reach = (p.tuning ?? 1.5) * scale;
  for (let i = 0; i < 200; i++) {
    const held: number = centre;
    const next: number =
      values.reduce((sum, x) => sum + Math.min(Math.max(x, held - reach), held + reach), 0) / values.length;
    if (Math.abs(next - held) < 1e-13 * scale) return next;
    centre = next;
  }
  return centre;
}

/** Mid-ranks, from 1: equal values share the mean of the ranks they take up. */
export function midRanks(values: readonly number[]): number[] {
  const order = values.map((_, i) => i).sort((a, b) => at(values, a) - at(values, b));
  const ranks = new Array<number>(values.length).fill(0);
  for (let first = 0; first < order.length; ) {
    let next = first + 1;
    while (next < order.length && at(values, at(order, next)) === at(values, at(order, first))) next++;
    for (let i = first; i < next; i++) ranks[at(order, i)] = (first + 1 + next) / 2;
    first = next;
  }
  return ranks;
}
