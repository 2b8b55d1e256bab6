import type { SeriesBucket } from '../../storage/history/port.ts';
import type { ChartPoint } from '../../web/chart.ts';

/** Points of a chart, and whether they are values or departures from what was expected. */
export type ChartPoints = { readonly points: readonly ChartPoint[]; readonly departures: boolean };

/** From which ratio of the sway of the expectation to the largest departure a chart shows departures. Common practice. */
const SWAY_MAX_RATIO = 1.5;

/**
 * Joins a finely thinned series into the columns of a chart.
 *
 * A column's departure is the median of those of its fine parts: a part in which only some points had an expectation
 * compares unlike things, and such parts are the few. Where the load sways what is expected by more than it departs, a
 * chart of values would hide the departure; then the departures themselves are the points, against an expectation of 0.
 *
 * @param p.fine - In time order, many to a column.
 * @param p.columns - At least 1; columns without data are left out.
 */
export function chartPoints(p: {
  fine: readonly SeriesBucket[];
  fromMs: number;
  toMs: number;
  columns: number;
}): ChartPoints {
  const width = (p.toMs - p.fromMs) / p.columns;
  const columns = new Map<number, SeriesBucket[]>();
  for (const part of p.fine) {
    const index = Math.min(p.columns - 1, Math.floor(((part.fromMs + part.toMs) / 2 - p.fromMs) / width));
    columns.set(index, [...(columns.get(index) ?? []), part]);
  }
  const joined = [...columns].sort(([a], [b]) => a - b).map(([, parts]) => joinColumn(parts));
  const known = joined.flatMap(({ expected, mean }) =>
    expected === undefined ? [] : [{ expected, departure: mean - expected }],
  );
  const sway = Math.max(...known.map(({ expected }) => expected)) - Math.min(...known.map(({ expected }) => expected));
  const largest = Math.max(...known.map(({ departure }) => Math.abs(departure)));
  if (known.length === 0 || sway <= SWAY_MAX_RATIO * largest) return { points: joined, departures: false };
  const departures = joined.flatMap((point) => {
    if (point.expected === undefined) return [];
    const departure = point.mean - point.expected;
    return [{ ...point, min: departure, max: departure, mean: departure, expected: 0 }];
  });
  return { points: departures, departures: true };
}

function joinColumn(parts: readonly SeriesBucket[]): ChartPoint {
  const fromMs = Math.min(...parts.map((part) => part.fromMs));
  const toMs = Math.max(...parts.map((part) => part.toMs));
  const count = parts.reduce((sum, part) => sum + part.count, 0);
  const known = parts.flatMap(({ mean, expected, sd }) =>
    expected === undefined || sd === undefined ? [] : [{ departure: mean - expected, expected, sd }],
  );
  if (known.length === 0) {
    const mean = parts.reduce((sum, part) => sum + part.mean * part.count, 0) / count;
    const min = Math.min(...parts.map((part) => part.min));
    return { fromMs, toMs, count, min, max: Math.max(...parts.map((part) => part.max)), mean };
  }
  const average = (values: readonly number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
  const expected = average(known.map((part) => part.expected));
  const observed = expected + median(known.map(({ departure }) => departure));
  return {
    fromMs,
    toMs,
    count,
    min: observed,
    max: observed,
    mean: observed,
    expected,
    sd: average(known.map(({ sd }) => sd)),
  };
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length / 2;
  const upper = sorted[Math.floor(middle)] ?? 0;
  return sorted.length % 2 === 1 ? upper : (upper + (sorted[middle - 1] ?? 0)) / 2;
}
