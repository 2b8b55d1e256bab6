import type { DecodeSummary } from './formats/decoder.ts';
import type { EngineStatus, N2kSummary, QuantitySummary, SignalKSummary } from './formats/marine-summary.ts';
import { isoTime } from './report-time.ts';

/** One quantity from one sender, in `unit`. Times are ISO 8601 in UTC, in the order of the file; `null` without a valid value. */
export type ReportedQuantity = Omit<QuantitySummary, 'statistics' | 'pgn' | 'instance' | 'source' | 'signal'> & {
  readonly pgn: number | null;
  readonly instance: number | null;
  readonly source: number | null;
  /** The signal it is read as; `null` when it is counted only. */
  readonly signal: string | null;
  readonly valid: number;
  readonly min: number | null;
  readonly max: number | null;
  readonly mean: number | null;
  readonly first: number | null;
  readonly last: number | null;
  readonly firstAt: string | null;
  readonly lastAt: string | null;
};

type Counts = { readonly [name: string]: number };

/** What a log of NMEA 2000 holds: who sends what, so that a rule can be written from it. */
export type ReportedN2k = Omit<
  N2kSummary,
  'messagesPerPgn' | 'firstMs' | 'lastMs' | 'quantities' | 'engineStatus' | 'enginesLeftOut'
> & {
  readonly messagesPerPgn: Counts;
  readonly first: string | null;
  readonly last: string | null;
  readonly quantities: readonly ReportedQuantity[];
  readonly engineStatus: readonly EngineStatus[];
  readonly enginesLeftOut: Counts;
};

/** What a file of Signal K deltas holds. */
export type ReportedSignalK = Omit<
  SignalKSummary,
  'contexts' | 'readContext' | 'valuesPerPath' | 'firstMs' | 'lastMs' | 'quantities' | 'enginesLeftOut'
> & {
  readonly contexts: Counts;
  readonly readContext: string | null;
  readonly valuesPerPath: Counts;
  readonly first: string | null;
  readonly last: string | null;
  readonly quantities: readonly ReportedQuantity[];
  readonly enginesLeftOut: Counts;
};

/** The part of a report that is about NMEA 2000 or Signal K; empty for other files. */
export function marineReport(summary: DecodeSummary): {
  readonly n2k?: ReportedN2k;
  readonly signalK?: ReportedSignalK;
} {
  const { n2k, signalK } = summary;
  return {
    ...(n2k === undefined ? {} : { n2k: reportedN2k(n2k) }),
    ...(signalK === undefined ? {} : { signalK: reportedSignalK(signalK) }),
  };
}

function reportedN2k({ firstMs, lastMs, ...summary }: N2kSummary): ReportedN2k {
  return {
    ...summary,
    messagesPerPgn: counts(summary.messagesPerPgn),
    first: isoTime(firstMs),
    last: isoTime(lastMs),
    quantities: summary.quantities.map(reportedQuantity),
    enginesLeftOut: counts(summary.enginesLeftOut),
  };
}

function reportedSignalK({ firstMs, lastMs, ...summary }: SignalKSummary): ReportedSignalK {
  return {
    ...summary,
    contexts: counts(summary.contexts),
    readContext: summary.readContext ?? null,
    valuesPerPath: counts(summary.valuesPerPath),
    first: isoTime(firstMs),
    last: isoTime(lastMs),
    quantities: summary.quantities.map(reportedQuantity),
    enginesLeftOut: counts(summary.enginesLeftOut),
  };
}

function reportedQuantity({ statistics, ...quantity }: QuantitySummary): ReportedQuantity {
  const { count, min, max, sum, first, last, firstMs, lastMs } = statistics;
  const isEmpty = count === 0;
  return {
    ...quantity,
    pgn: quantity.pgn ?? null,
    instance: quantity.instance ?? null,
    source: quantity.source ?? null,
    signal: quantity.signal ?? null,
    valid: count,
    min: isEmpty ? null : min,
    max: isEmpty ? null : max,
    mean: isEmpty ? null : sum / count,
    first: isEmpty ? null : first,
    last: isEmpty ? null : last,
    firstAt: isoTime(firstMs),
    lastAt: isoTime(lastMs),
  };
}

// A name such as "__proto__" stays a name.
function counts(map: ReadonlyMap<string | number, number>): Counts {
  return Object.fromEntries(map);
}
