import type { HistoryPoint } from '../../schemas/history-point.ts';
import type { SeriesBucket, SeriesOf } from './port.ts';

/** One value of a series, with its expectation where there is one. */
export type SeriesValue = {
  readonly value: number;
  readonly expected?: number | undefined;
  readonly sd?: number | undefined;
};

/** Collects values in time order or any other, and gives them thinned. */
export type Thinning = { add(atMs: number, one: SeriesValue): void; buckets(): readonly SeriesBucket[] };

type Mean = { sum: number; count: number };
type Sum = Mean & { min: number; max: number; readonly expected: Mean; readonly sd: Mean };

/** What the series shows of a point: `undefined` where the point does not have it. */
export function seriesValue(point: HistoryPoint, of: SeriesOf): SeriesValue | undefined {
  const own = <T>(table: { readonly [key: string]: T | undefined }) =>
    Object.hasOwn(table, of.name) ? table[of.name] : undefined;
  switch (of.kind) {
    case 'signal': {
      const summary = own(point.point.signals);
      return summary === undefined ? undefined : { value: summary.mean };
    }
    case 'indicator': {
      const indicator = own(point.indicators);
      return indicator === undefined || 'absent' in indicator ? undefined : { value: indicator.value };
    }
    case 'channel': {
      const reading = own(point.channels);
      return reading === undefined
        ? undefined
        : { value: reading.observed, expected: reading.expected, sd: reading.sd };
    }
    default:
      return of.kind satisfies never;
  }
}

/**
 * Thins a series to at most `buckets` columns of equal width over `fromMs <= t < toMs`.
 *
 * A column's edges are whole milliseconds, so that every time lies in exactly one column. `min` and `max` are kept, so a
 * single odd point stays to be seen however much is thinned. Times outside the range are left out.
 *
 * @param p.buckets - At least 1; where there are fewer milliseconds than columns, some columns stay empty.
 */
export function createThinning(p: { fromMs: number; toMs: number; buckets: number }): Thinning {
  const spanMs = p.toMs - p.fromMs;
  const sums = new Map<number, Sum>();
  const edgeMs = (index: number) => p.fromMs + Math.ceil((index * spanMs) / p.buckets);
  return {
    add: (atMs, { value, expected, sd }) => {
      if (atMs < p.fromMs || atMs >= p.toMs) return;
      const index = Math.floor(((atMs - p.fromMs) * p.buckets) / spanMs);
      const sum = sums.get(index) ?? emptySum();
      sum.count += 1;
      sum.min = Math.min(sum.min, value);
      sum.max = Math.max(sum.max, value);
      sum.sum += value;
      addTo(sum.expected, expected);
      addTo(sum.sd, sd);
      sums.set(index, sum);
    },
    buckets: () =>
      [...sums.entries()]
        .sort(([a], [b]) => a - b)
        .map(([index, sum]) => ({
          fromMs: edgeMs(index),
          toMs: edgeMs(index + 1),
          count: sum.count,
          min: sum.min,
          max: sum.max,
          mean: sum.sum / sum.count,
          ...(sum.expected.count === 0 ? {} : { expected: sum.expected.sum / sum.expected.count }),
          ...(sum.sd.count === 0 ? {} : { sd: sum.sd.sum / sum.sd.count }),
        })),
  };
}

function addTo(mean: Mean, value: number | undefined): void {
  if (value === undefined) return;
  mean.sum += value;
  mean.count += 1;
}

function emptySum(): Sum {
  return {
    count: 0,
    min: Number.POSITIVE_INFINITY,
    max: Number.NEGATIVE_INFINITY,
    sum: 0,
    expected: { sum: 0, count: 0 },
    sd: { sum: 0, count: 0 },
  };
}
