import type { HistoryPoint } from '../../schemas/history-point.ts';

/** One column of a thinned series: the extremes and the mean of all points whose time falls into it. */
export type SeriesBucket = {
  readonly fromMs: number;
  readonly toMs: number;
  readonly count: number;
  readonly min: number;
  readonly max: number;
  readonly mean: number;
  /** Mean expectation and its standard deviation over the points that have one. */
  readonly expected?: number;
  readonly sd?: number;
};

/** What a series is made of: a signal's mean, an indicator, or a channel with its expectation. */
export type SeriesOf = { readonly kind: 'signal' | 'indicator' | 'channel'; readonly name: string };

/**
 * The history: every operating point with what was derived and expected, kept to be looked at.
 *
 * Who calls what: analysis calls `write` before it commits its step to the log; pages, reports and exports read.
 * Durable: the points, once `write` resolves. Idempotent: a point is known by unit and end time (`point.toMs`);
 * writing it again replaces it, so a repeated batch changes nothing. Reads see every write that resolved before them.
 * To be looked at, not computed on: an adapter may round what is measured or derived to 4 significant digits, spreads,
 * uncertainties and control statistics to 2. What is rounded once stays as it is; times and counts are never rounded.
 */
export interface HistoryPort {
  write(points: readonly HistoryPoint[]): Promise<void>;
  /** Points of a unit with `fromMs <= point.toMs < toMs`, oldest first. */
  points(p: { unit: string; fromMs: number; toMs: number }): AsyncIterable<HistoryPoint>;
  /** A series in at most `buckets` equal time columns, empty columns left out. */
  series(p: {
    unit: string;
    of: SeriesOf;
    fromMs: number;
    toMs: number;
    buckets: number;
  }): Promise<readonly SeriesBucket[]>;
  /** Newest point of a unit, or `undefined` when it has none. */
  latest(p: { unit: string }): Promise<HistoryPoint | undefined>;
  /** Times of the first and last point of a unit, or `undefined` when it has none. */
  extent(p: { unit: string }): Promise<{ readonly fromMs: number; readonly toMs: number } | undefined>;
  /** Finishes what is under way and lets go of files and connections. */
  close(): Promise<void>;
}
