import type { SignalKey } from '../schemas/signals.ts';
import type { DecodeSummary, Tally } from './formats/decoder.ts';
import { parameterUnit } from './formats/j1939-parameters.ts';
import type { ParameterSummary } from './formats/j1939-summary.ts';
import type { TransportSummary } from './formats/j1939-transport.ts';
import type { DiagnosticState } from './formats/j1939-trouble-codes.ts';
import type { RunningStatistics } from './formats/running-statistics.ts';
import type { LoadProgress } from './load-progress.ts';
import { marineReport, type ReportedN2k, type ReportedSignalK } from './marine-report.ts';
import { isoTime } from './report-time.ts';

/**
 * Statistics as a report shows them; `null` without a valid value. Values are in canonical units, first and last in the order of the file;
 * times are ISO 8601 in UTC.
 */
export type ReportedStatistics = {
  readonly count: number;
  readonly min: number | null;
  readonly max: number | null;
  readonly mean: number | null;
  readonly first: number | null;
  readonly last: number | null;
  readonly firstAt: string | null;
  readonly lastAt: string | null;
};

/** One J1939 parameter from one sender. `reserved` are parameter-specific and reserved codes. */
export type ReportedParameter = Omit<ReportedStatistics, 'count'> & {
  readonly pgn: number;
  readonly spn: number;
  readonly sourceAddress: number;
  readonly signal: SignalKey;
  readonly unit: string;
  readonly frames: number;
  readonly valid: number;
  readonly notAvailable: number;
  readonly error: number;
  readonly reserved: number;
};

export type ReportedTroubleCodes = Omit<DiagnosticState, 'firstMs' | 'lastMs'> & {
  readonly first: string | null;
  readonly last: string | null;
};

/** The bus itself. */
export type ReportedBus = {
  readonly frames: number;
  readonly remoteFrames: number;
  readonly standardFrames: number;
  readonly interfaces: { readonly [name: string]: number };
  readonly readInterface: string | null;
  readonly timesGoingBack: number;
  readonly first: string | null;
  readonly last: string | null;
  readonly distinctPgns: number;
  /** The most frequent ones, at most {@link PGNS_MAX}. */
  readonly framesPerPgn: { readonly [pgn: string]: number };
  readonly troubleCodesLeftOut: number;
};

/** What loading one file came to. `rows` = `accepted` + `duplicates` + all of `rejected`. */
export type LoadReport = {
  readonly file: string;
  readonly format: string;
  readonly source: string;
  readonly units: readonly string[];
  readonly rows: number;
  readonly accepted: number;
  readonly duplicates: number;
  /** Of the accepted rows, those older than what the log had already. */
  readonly late: number;
  readonly rejected: Tally;
  /** Values that were refused in rows that stand. */
  readonly rejectedValues: Tally;
  readonly deadLetters: { readonly kept: number; readonly countedOnly: number };
  /** True when this very file had been loaded before; nothing was read. */
  readonly isKnown: boolean;
  /** What went wrong with the file as a whole, in a sentence. */
  readonly problem?: string;
  readonly repeatedTimes?: number;
  readonly signals: { readonly [K in SignalKey]?: ReportedStatistics };
  readonly unmapped?: { readonly [channel: string]: number };
  readonly parameters?: readonly ReportedParameter[];
  readonly troubleCodes?: readonly ReportedTroubleCodes[];
  readonly transport?: TransportSummary;
  readonly bus?: ReportedBus;
  readonly n2k?: ReportedN2k;
  readonly signalK?: ReportedSignalK;
};

/** PGNs listed in a report. A quiet bus has some dozens; one flooded with random frames has thousands. */
export const PGNS_MAX = 2000;

/** The report of a file that has been read. */
export function loadReport(p: {
  file: string;
  format: string;
  source: string;
  progress: LoadProgress;
  refused: number;
  summary: DecodeSummary;
  problem: string | undefined;
}): LoadReport {
  const { progress, summary } = p;
  const signals: { [K in SignalKey]?: ReportedStatistics } = {};
  for (const [key, statistics] of summary.statistics) {
    if (statistics.count > 0) signals[key] = reported(statistics);
  }
  return {
    file: p.file,
    format: p.format,
    source: p.source,
    units: progress.units,
    rows: summary.rowCount,
    accepted: progress.accepted,
    duplicates: progress.duplicates,
    late: progress.late,
    rejected: progress.rejected,
    rejectedValues: progress.rejectedValues,
    deadLetters: { kept: progress.deadLetters, countedOnly: p.refused - progress.deadLetters },
    isKnown: false,
    ...(p.problem === undefined ? {} : { problem: p.problem }),
    ...(summary.repeatedTimes === undefined || summary.repeatedTimes === 0
      ? {}
      : { repeatedTimes: summary.repeatedTimes }),
    signals,
    ...(summary.unmapped === undefined ? {} : { unmapped: Object.fromEntries(summary.unmapped) }),
    ...busReport(summary),
    ...marineReport(summary),
  };
}

/** The report of a file that was loaded before: all its rows are known. */
export function knownFileReport(p: {
  file: string;
  format: string;
  source: string;
  progress: LoadProgress;
}): LoadReport {
  const { file, format, source, progress } = p;
  return {
    file,
    format,
    source,
    units: progress.units,
    rows: progress.rows,
    accepted: 0,
    duplicates: progress.rows,
    late: 0,
    rejected: {},
    rejectedValues: {},
    deadLetters: { kept: 0, countedOnly: 0 },
    isKnown: true,
    signals: {},
  };
}

function busReport(summary: DecodeSummary): Pick<LoadReport, 'parameters' | 'troubleCodes' | 'transport' | 'bus'> {
  const { bus } = summary;
  if (bus === undefined) return {};
  const pgns = [...bus.framesPerPgn].sort((a, b) => b[1] - a[1]).slice(0, PGNS_MAX);
  return {
    parameters: bus.parameters.map(reportedParameter),
    troubleCodes: bus.troubleCodes.map(({ firstMs, lastMs, ...state }) => ({
      ...state,
      first: isoTime(firstMs),
      last: isoTime(lastMs),
    })),
    transport: bus.transport,
    bus: {
      frames: bus.frames,
      remoteFrames: bus.remoteFrames,
      standardFrames: bus.standardFrames,
      interfaces: Object.fromEntries(bus.interfaces),
      readInterface: bus.readInterface ?? null,
      timesGoingBack: bus.timesGoingBack,
      first: isoTime(bus.firstMs),
      last: isoTime(bus.lastMs),
      distinctPgns: bus.framesPerPgn.size,
      framesPerPgn: Object.fromEntries(pgns.sort((a, b) => a[0] - b[0])),
      troubleCodesLeftOut: bus.troubleCodesLeftOut,
    },
  };
}

function reportedParameter(item: ParameterSummary): ReportedParameter {
  const { count, ...statistics } = reported(item.statistics);
  const { pgn, spn, signal } = item.parameter;
  return {
    pgn,
    spn,
    sourceAddress: item.sourceAddress,
    signal,
    unit: parameterUnit(item.parameter),
    frames: item.frames,
    valid: count,
    notAvailable: item.notAvailable,
    error: item.error,
    reserved: item.reserved,
    ...statistics,
  };
}

function reported(statistics: RunningStatistics): ReportedStatistics {
  const { count, min, max, sum, first, last, firstMs, lastMs } = statistics;
  if (count === 0) {
    return { count, min: null, max: null, mean: null, first: null, last: null, firstAt: null, lastAt: null };
  }
  return { count, min, max, mean: sum / count, first, last, firstAt: isoTime(firstMs), lastAt: isoTime(lastMs) };
}
