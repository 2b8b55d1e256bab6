import { autocorrelations, lagOneAutocorrelation } from '../detection/autocorrelation.ts';
import { at } from '../detection/linear-algebra.ts';
import { midRanks } from '../detection/robust-scale.ts';
import { normalQuantile, normalTwoSidedTail } from '../statistics/normal.ts';
import { kendallVariance, present, type Reading, seasonsOf, tieSizes } from './readings.ts';
import { senSlope } from './theil-sen.ts';

/** Outcome of a Mann–Kendall test for a monotone trend. */
export type TrendTest = {
  /** Rising less falling pairs. */
  readonly statistic: number;
  /** Variance of the statistic when there is no trend. */
  readonly variance: number;
  /** Standard normal deviate, with the continuity correction; 0 when the statistic is. */
  readonly deviate: number;
  /** Two-sided. */
  readonly probability: number;
  /** Kendall's tau without and with (tau-b) allowance for equal values; `undefined` when no pair differs. */
  readonly tau: number;
  readonly tauB: number | undefined;
  /** How many values entered. */
  readonly count: number;
};

function rising(values: readonly number[]): number {
  let statistic = 0;
  for (let j = 1; j < values.length; j++)
    for (let i = 0; i < j; i++) statistic += Math.sign(at(values, j) - at(values, i));
  return statistic;
}

function outcome(p: {
  statistic: number;
  variance: number;
  pairs: number;
  tiedPairs: number;
  count: number;
}): TrendTest {
  const deviate = p.variance > 0 ? (p.statistic - Math.sign(p.statistic)) / Math.sqrt(p.variance) : 0;
  const untied = Math.sqrt((p.pairs - p.tiedPairs) * p.pairs);
  return {
    statistic: p.statistic,
    variance: p.variance,
    deviate,
    probability: normalTwoSidedTail(deviate),
    tau: p.statistic / p.pairs,
    tauB: untied > 0 ? p.statistic / untied : undefined,
    count: p.count,
  };
}

/**
 * Mann–Kendall test: whether values tend to rise or fall, whatever their law. Values must not be autocorrelated; see
 * the other tests here for when they are.
 *
 * @param values - In order of time; missing ones are left out, which the test allows.
 * @returns `undefined` for fewer than two values.
 * @see Mann (1945), Econometrica 13, 245-259; Kendall, Rank Correlation Methods; Helsel et al. (2020), Statistical
 *   Methods in Water Resources, chapter 12.
 */
export function mannKendall(values: readonly Reading[]): TrendTest | undefined {
  const kept = present(values);
  const n = kept.length;
  if (n < 2) return undefined;
  const tiedPairs = tieSizes(kept).reduce((sum, t) => sum + (t * (t - 1)) / 2, 0);
  return outcome({
    statistic: rising(kept),
    variance: kendallVariance(kept),
    pairs: (n * (n - 1)) / 2,
    tiedPairs,
    count: n,
  });
}

function detrended(values: readonly number[]): number[] {
  const slope = senSlope(values) ?? 0;
  return values.map((y, i) => y - slope * (i + 1));
}

function withFactor(values: readonly number[], factor: number): TrendTest | undefined {
  const plain = mannKendall(values);
  if (plain === undefined) return undefined;
  const n = values.length;
  const tiedPairs = tieSizes(values).reduce((sum, t) => sum + (t * (t - 1)) / 2, 0);
  return outcome({
    statistic: plain.statistic,
    variance: plain.variance * factor,
    pairs: (n * (n - 1)) / 2,
    tiedPairs,
    count: n,
  });
}

/**
 * Mann–Kendall test with the variance enlarged for autocorrelation, as far as it stands out of chance.
 *
 * @param lags - Highest lag that is looked at; all unless given. A few are better than all.
 * @returns `undefined` for fewer than three values.
 * @see Hamed & Rao (1998), Journal of Hydrology 204, 182-196.
 */
export function mannKendallHamedRao(values: readonly Reading[], lags?: number): TrendTest | undefined {
  const kept = present(values);
  const n = kept.length;
  if (n < 3) return undefined;
  const correlations = autocorrelations(midRanks(detrended(kept)), lags ?? n - 1) ?? [1];
  const chance = normalQuantile(0.975) / Math.sqrt(n);
  let sum = 0;
  for (const [lag, r] of correlations.entries()) {
    if (lag > 0 && Math.abs(r) > chance) sum += (n - lag) * (n - lag - 1) * (n - lag - 2) * r;
  }
  return withFactor(kept, 1 + (2 / (n * (n - 1) * (n - 2))) * sum);
}

/**
 * Mann–Kendall test with the variance multiplied by how many times too many the values are for their autocorrelation.
 *
 * @param lags - Highest lag that counts; 1 unless given. Over all lags the factor falls below 1 even where it should
 *   rise, and the test becomes too eager.
 * @returns `undefined` for fewer than three values.
 * @see Yue & Wang (2004), Water Resources Management 18, 201-218.
 */
export function mannKendallYueWang(values: readonly Reading[], lags = 1): TrendTest | undefined {
  const kept = present(values);
  const n = kept.length;
  if (n < 3) return undefined;
  const correlations = autocorrelations(detrended(kept), lags) ?? [1];
  const sum = correlations.reduce((total, r, lag) => total + (lag === 0 ? 0 : (1 - lag / n) * r), 0);
  return withFactor(kept, 1 + 2 * sum);
}

/**
 * Mann–Kendall test of what each value adds to the share of the one before it that carries over.
 *
 * @returns `undefined` for fewer than three values.
 * @see Kulkarni & von Storch (1995), Meteorologische Zeitschrift 4, 82-85.
 */
export function mannKendallPreWhitened(values: readonly Reading[]): TrendTest | undefined {
  const kept = present(values);
  return kept.length < 3 ? undefined : mannKendall(withoutCarryOver(kept));
}

/**
 * As {@link mannKendallPreWhitened}, with Sen's line taken out first and put back after, so that the trend itself is
 * not mistaken for carry-over. It finds more true trends, but under autocorrelation alone it calls a trend as often as the
 * plain test does: for comparison with published studies, not for raising findings.
 *
 * @see Yue, Pilon, Phinney & Cavadias (2002), Hydrological Processes 16, 1807-1829.
 */
export function mannKendallTrendFree(values: readonly Reading[]): TrendTest | undefined {
  const kept = present(values);
  const slope = senSlope(kept);
  if (kept.length < 3 || slope === undefined) return undefined;
  return mannKendall(withoutCarryOver(detrended(kept)).map((y, i) => y + slope * i));
}

function withoutCarryOver(values: readonly number[]): number[] {
  const r = lagOneAutocorrelation(values) ?? 0;
  return values.slice(1).map((y, i) => y - r * at(values, i));
}

/**
 * Seasonal Mann–Kendall test: only values of the same season are compared, so a yearly swing is no trend.
 *
 * @param values - Evenly spaced; a missing one keeps its place.
 * @param period - Values a year (or other cycle).
 * @returns `undefined` when no season has two values.
 * @see Hirsch, Slack & Smith (1982), Water Resources Research 18, 107-121.
 */
export function mannKendallSeasonal(values: readonly Reading[], period: number): TrendTest | undefined {
  let [statistic, variance, pairs, tiedPairs] = [0, 0, 0, 0];
  for (const season of seasonsOf(values, period)) {
    const kept = present(season);
    statistic += rising(kept);
    variance += kendallVariance(kept);
    pairs += (kept.length * (kept.length - 1)) / 2;
    tiedPairs += tieSizes(kept).reduce((sum, t) => sum + (t * (t - 1)) / 2, 0);
  }
  return pairs === 0 ? undefined : outcome({ statistic, variance, pairs, tiedPairs, count: present(values).length });
}
