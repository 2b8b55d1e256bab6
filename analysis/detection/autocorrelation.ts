import { at } from './linear-algebra.ts';
import { mean } from './robust-scale.ts';

/**
 * Autocorrelations at lags 0 to `lags`: sums of products of deviations from the overall mean, all by the sum of squares.
 *
 * @param values - Evenly spaced, finite.
 * @param lags - Highest lag; cut to one less than the number of values.
 * @returns `undefined` when there are fewer than two values or all are equal.
 * @see Box, Jenkins & Reinsel, Time Series Analysis, section 2.1.5.
 */
export function autocorrelations(values: readonly number[], lags: number): number[] | undefined {
  const centre = mean(values);
  if (centre === undefined || values.length < 2) return undefined;
  const deviations = values.map((x) => x - centre);
  const total = deviations.reduce((sum, d) => sum + d * d, 0);
  if (!(total > 0)) return undefined;
  return Array.from({ length: Math.min(lags, values.length - 1) + 1 }, (_, lag) => {
    let sum = 0;
    for (let i = lag; i < deviations.length; i++) sum += at(deviations, i) * at(deviations, i - lag);
    return sum / total;
  });
}

/** Correlation of neighbours; `undefined` when there are fewer than two values or all are equal. See {@link autocorrelations}. */
export function lagOneAutocorrelation(values: readonly number[]): number | undefined {
  return autocorrelations(values, 1)?.[1];
}

/**
 * Correlation of neighbours with the bias of a short series taken out: the plain estimate falls short by about
 * (1 + 4 r) / n, which would make limits too tight.
 *
 * @param values - Evenly spaced.
 * @returns From -0.99 to 0.99; `undefined` as {@link lagOneAutocorrelation}.
 * @see Kendall (1954), Biometrika 41, 403-404 (bias when the mean is estimated).
 */
export function unbiasedLagOneAutocorrelation(values: readonly number[]): number | undefined {
  const plain = lagOneAutocorrelation(values);
  if (plain === undefined) return undefined;
  return Math.min(Math.max(plain + (1 + 4 * plain) / values.length, -0.99), 0.99);
}

/**
 * How many independent values tell as much about a mean as `count` values of a first-order autoregression do.
 *
 * @param autocorrelation - Of neighbours, above -1 and below 1.
 * @see Bayley & Hammersley (1946), Journal of the Royal Statistical Society, Supplement 8, 184-197.
 */
export function effectiveSampleSize(count: number, autocorrelation: number): number {
  let sum = 0;
  let power = 1;
  for (let lag = 1; lag < count; lag++) {
    power *= autocorrelation;
    sum += (1 - lag / count) * power;
    if (Math.abs(power) < 1e-18) break;
  }
  return count / (1 + 2 * sum);
}

/** As {@link effectiveSampleSize} for a long series: `count` (1 - r) / (1 + r). */
export function effectiveSampleSizeLong(count: number, autocorrelation: number): number {
  return (count * (1 - autocorrelation)) / (1 + autocorrelation);
}
