/** Count, extremes, sum, and first and last value with their times of the valid values of one signal or parameter. */
export type RunningStatistics = {
  count: number;
  min: number;
  max: number;
  sum: number;
  first: number;
  last: number;
  firstMs: number;
  lastMs: number;
};

/** Statistics of no values yet. */
export function emptyStatistics(): RunningStatistics {
  return {
    count: 0,
    min: Infinity,
    max: -Infinity,
    sum: 0,
    first: Number.NaN,
    last: Number.NaN,
    firstMs: Number.NaN,
    lastMs: Number.NaN,
  };
}

/** Counts one value in. First and last are by order of arrival, as the file has them. */
export function addValue(statistics: RunningStatistics, p: { value: number; timeMs: number }): void {
  if (statistics.count === 0) {
    statistics.first = p.value;
    statistics.firstMs = p.timeMs;
  }
  statistics.count += 1;
  if (p.value < statistics.min) statistics.min = p.value;
  if (p.value > statistics.max) statistics.max = p.value;
  statistics.sum += p.value;
  statistics.last = p.value;
  statistics.lastMs = p.timeMs;
}

/**
 * Counts a column in; NaN stands for not available.
 *
 * @param p.timesMs - As long as `values`.
 */
export function addColumn(statistics: RunningStatistics, p: { values: Float64Array; timesMs: Float64Array }): void {
  const { values, timesMs } = p;
  let { min, max } = statistics;
  let count = 0;
  let sum = 0;
  let first = -1;
  let last = -1;
  for (let i = 0; i < values.length; i += 1) {
    const value = values[i] as number;
    if (Number.isNaN(value)) continue;
    if (first < 0) first = i;
    last = i;
    count += 1;
    sum += value;
    if (value < min) min = value;
    if (value > max) max = value;
  }
  if (count === 0) return;
  if (statistics.count === 0) {
    statistics.first = values[first] as number;
    statistics.firstMs = timesMs[first] as number;
  }
  statistics.last = values[last] as number;
  statistics.lastMs = timesMs[last] as number;
  statistics.count += count;
  statistics.sum += sum;
  statistics.min = min;
  statistics.max = max;
}
