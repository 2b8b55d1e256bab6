import type { Reject, RejectCode } from '../../schemas/reject.ts';
import type { TroubleCode } from '../../schemas/sample-block.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import type { SourceRule } from '../../schemas/source-rule.ts';
import type { ClockLimits } from '../checks.ts';
import type { BusSummary } from './j1939-summary.ts';
import type { N2kSummary, SignalKSummary } from './marine-summary.ts';
import type { RunningStatistics } from './running-statistics.ts';

/**
 * Decoded samples of one unit in columns, in the order of the file. Inside the decoders and the intake NaN stands for
 * "not available"; it does not pass into a sample block.
 */
export type Samples = {
  readonly unit: string;
  /** Whole milliseconds since 1970 UTC, within the clock limits. */
  readonly timesMs: Float64Array;
  /** As long as `timesMs`, in canonical units, within the range of the signal. */
  readonly columns: ReadonlyMap<SignalKey, Float64Array>;
  /** How many rows of the file each sample was made of; left out where it is one each. */
  readonly rowCounts?: Float64Array;
  /** Active trouble codes of the engine at the end of these samples; left out while it has sent none of either kind. */
  readonly troubleCodes?: readonly TroubleCode[];
};

/** One refusal with its place: the whole row, or one value of a row whose others stand. */
export type PlacedReject = {
  readonly reject: Reject;
  readonly extent: 'row' | 'value';
  /** Line number, from 1. */
  readonly position: number;
  readonly raw: string;
  readonly unit: string | null;
};

/** How often each code was given. */
export type Tally = { [Code in RejectCode]?: number };

/**
 * What came of a bounded run of rows. The cut depends on the rows alone, never on how the bytes arrived, so a reader
 * that starts again after a crash finds the same batches and can leave out those already stored.
 */
export type DecodedBatch = {
  readonly samples: readonly Samples[];
  /** Rows that were read and carry no signal of ours. */
  readonly emptyRows: number;
  /** Rows that say again what the file has said already. */
  readonly repeatedRows: number;
  readonly rejectedRows: Tally;
  readonly rejectedValues: Tally;
  /** The refusals verbatim; fewer than the tallies say once a file has too many. */
  readonly rejects: readonly PlacedReject[];
};

/** What a decoder knows of the whole file so far. */
export type DecodeSummary = {
  readonly rowCount: number;
  /** Over valid values in canonical units, before any mean is taken. */
  readonly statistics: ReadonlyMap<SignalKey, RunningStatistics>;
  /** Rows by channel that no column of the rule names, in a long file. */
  readonly unmapped?: ReadonlyMap<string, number>;
  /** Local times that were twice, when the clocks went back; read in the order of the file. */
  readonly repeatedTimes?: number;
  /** Why nothing more could be read; the rest of the file was left alone. */
  readonly problem?: Reject;
  readonly bus?: BusSummary;
  readonly n2k?: N2kSummary;
  readonly signalK?: SignalKSummary;
};

/** Reads one file. Call `push` for the bytes in order, cut anywhere, then `finish` once. */
export type Decoder = {
  push(bytes: Uint8Array): readonly DecodedBatch[];
  finish(): readonly DecodedBatch[];
  /** What has been read so far, though more may follow: for a log that is read while it is written. Not for tables. */
  flush?(): readonly DecodedBatch[];
  /** Rows so far, and why nothing more can be read if so; cheap, for asking after every chunk. */
  standing(): Pick<DecodeSummary, 'rowCount' | 'problem'>;
  summary(): DecodeSummary;
};

/** What a decoder needs to know beside the bytes. */
export type DecodeContext<Rule extends SourceRule = SourceRule> = {
  readonly rule: Rule;
  /** Ids of the units that rows may be of. */
  readonly unitIds: ReadonlySet<string>;
  readonly clock: ClockLimits;
};

/** Rows in a batch; bounds what is held in memory and what one commit writes. */
export const BATCH_ROWS = 16_384;

/** A batch ends early with so many refusals, for each holds a text. */
export const BATCH_REJECTS = 1000;

/** Refusals kept verbatim per file; beyond, they are counted only, and the report says so. */
export const KEPT_REJECTS_MAX = 10_000;
