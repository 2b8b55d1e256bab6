/** A reading that may be missing. */
export type Reading = number | null | undefined;

/** The readings that are not missing. */
export function present(values: readonly Reading[]): number[] {
  return values.filter((value): value is number => value !== null && value !== undefined);
}

/**
 * The readings of each season in order of the years; a missing one keeps its place.
 *
 * @param values - Evenly spaced.
 * @param period - Readings a year (or other cycle).
 */
export function seasonsOf(values: readonly Reading[], period: number): Reading[][] {
  return Array.from({ length: period }, (_, season) => values.filter((__, i) => i % period === season));
}

/** Sizes of the groups of equal values. */
export function tieSizes(values: readonly number[]): number[] {
  const sizes = new Map<number, number>();
  for (const value of values) sizes.set(value, (sizes.get(value) ?? 0) + 1);
  return [...sizes.values()];
}

/**
 * Variance of the Mann–Kendall statistic of independent values, lowered for equal values and, when times are given, for
 * equal times.
 *
 * @see Kendall, Rank Correlation Methods, chapter 4; Sen (1968), Journal of the American Statistical Association 63, eq. 2.6.
 */
export function kendallVariance(values: readonly number[], times: readonly number[] = []): number {
  const weight = (n: number) => n * (n - 1) * (2 * n + 5);
  const tied = [...tieSizes(values), ...tieSizes(times)].reduce((sum, size) => sum + weight(size), 0);
  return (weight(values.length) - tied) / 18;
}
