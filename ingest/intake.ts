import { assert } from '../schemas/assert.ts';
import type { Reject, RejectCode } from '../schemas/reject.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import { SIGNALS, type SignalKey } from '../schemas/signals.ts';
import { type ClockLimits, clockReject, rangeReject } from './checks.ts';
import { coverTimes, isCovered } from './covered-runs.ts';
import type { Samples, Tally } from './formats/decoder.ts';
import { type Blocks, sampleBlocks } from './intake-blocks.ts';
import { GAP_MIN_MS, type IntakeState, type PendingRows } from './intake-state.ts';
import { type MergedRows, mergeRows, sortedRows } from './row-order.ts';

/** Rows are held back until so many later ones have come; an earlier row within them is put in its place. */
export const REORDER_ROWS = 256;

/** A refusal and the index of the sample that it is about. */
export type IntakeReject = { readonly reject: Reject; readonly extent: 'row' | 'value'; readonly index: number };

/** What came of some samples. Rows of the file: `accepted` + `duplicates` + the rejected ones. */
export type IntakeResult = {
  readonly state: IntakeState;
  readonly blocks: readonly SampleBlock[];
  /** Rows that are new, late ones among them. */
  readonly accepted: number;
  /** Rows whose time has been seen: in this run of rows, or in a stretch that earlier files covered. */
  readonly duplicates: number;
  /** Accepted rows that are older than what has gone to the log; they follow in blocks of their own. */
  readonly late: number;
  readonly rejects: readonly IntakeReject[];
  readonly rejectedRows: Tally;
  readonly rejectedValues: Tally;
};

/**
 * Takes decoded samples of one unit and source in: checks clock and range, drops what has been seen, puts rows in order,
 * makes gauge boost of absolute manifold pressure, and cuts blocks.
 *
 * @param samples - In any order of time.
 * @param p.isLast - Whether nothing will follow for now, so no row needs to be held back.
 * @param p.isSeen - Says of a time before the newest whether it has been seen, for callers that remember times exactly;
 *   left out, times within a covered run have.
 */
export function takeIn(
  state: IntakeState,
  samples: Samples,
  p: { clock: ClockLimits; isLast: boolean; isSeen?: (timeMs: number) => boolean },
): IntakeResult {
  for (const values of samples.columns.values()) {
    assert(values.length === samples.timesMs.length, 'every column is as long as the times');
  }
  const checked = checkSamples(samples, p.clock);
  const placed = placeRows(state, samples, { refused: checked.refusedRows, isSeen: p.isSeen });
  const merged = placed.isInOrder
    ? mergeRows({ pending: state.pending, samples, rows: undefined })
    : mergeRows({ pending: state.pending, samples, rows: placed.fresh });
  const duplicates = placed.duplicates + countRows(samples, merged.dropped);
  const late = sortedRows({ samples, rows: placed.late });
  const lateDuplicates = countRows(samples, late.dropped);
  const held = p.isLast ? 0 : REORDER_ROWS;
  const state1: IntakeState = {
    ...state,
    gapMs: Math.max(GAP_MIN_MS, state.gapMs, 2.5 * typicalStepMs(merged.timesMs)),
    // Of these samples alone: codes of an earlier log may be gone by now.
    troubleCodes: samples.troubleCodes === undefined ? null : [...samples.troubleCodes],
  };
  const emitted = emit(state1, { merged, held, late: late.rows });
  const lateRows = countRows(samples, placed.late) - lateDuplicates;
  const total = countAllRows(samples);
  return {
    ...emitted,
    accepted: total - checked.rejectedRowCount - duplicates - lateDuplicates,
    duplicates: duplicates + lateDuplicates,
    late: lateRows,
    rejects: checked.rejects,
    rejectedRows: checked.rejectedRows,
    rejectedValues: checked.rejectedValues,
  };
}

/** Sends on the rows that were held back: nothing will follow for now. */
export function flushIntake(state: IntakeState): {
  readonly state: IntakeState;
  readonly blocks: readonly SampleBlock[];
} {
  return emit(state, { merged: { ...state.pending, dropped: [] }, held: 0, late: undefined });
}

type CheckedSamples = {
  readonly refusedRows: ReadonlySet<number>;
  readonly rejectedRowCount: number;
  readonly rejects: IntakeReject[];
  readonly rejectedRows: Tally;
  readonly rejectedValues: Tally;
};

function checkSamples(samples: Samples, clock: ClockLimits): CheckedSamples {
  const refusedRows = new Set<number>();
  const rejects: IntakeReject[] = [];
  const rejectedRows: Tally = {};
  const rejectedValues: Tally = {};
  const count = (tally: Tally, code: RejectCode, by: number) => {
    tally[code] = (tally[code] ?? 0) + by;
  };
  if (!isWithin(samples.timesMs, clock.earliestMs, clock.latestMs)) {
    for (const [index, timeMs] of samples.timesMs.entries()) {
      const reject = clockReject(timeMs, clock);
      if (reject === undefined) continue;
      refusedRows.add(index);
      rejects.push({ reject, extent: 'row', index });
      count(rejectedRows, reject.code, rowsAt(samples, index));
    }
  }
  for (const [key, values] of samples.columns) {
    if (isWithin(values, SIGNALS[key].min, SIGNALS[key].max)) continue;
    for (const [index, value] of values.entries()) {
      if (Number.isNaN(value)) continue;
      const reject = rangeReject({ key, value });
      if (reject === undefined) continue;
      values[index] = Number.NaN;
      rejects.push({ reject, extent: 'value', index });
      count(rejectedValues, reject.code, 1);
    }
  }
  return { refusedRows, rejectedRowCount: countRows(samples, [...refusedRows]), rejects, rejectedRows, rejectedValues };
}

// A pass over a column without a branch a value in the common case; NaN is within every range.
function isWithin(values: Float64Array, min: number, max: number): boolean {
  for (let i = 0; i < values.length; i += 1) {
    const value = values[i] as number;
    if (value < min || value > max) return false;
  }
  return true;
}

type PlacedRows = {
  /** Every row is new, rising, and later than all before: nothing needs to be sorted. */
  readonly isInOrder: boolean;
  readonly fresh: readonly number[];
  readonly late: readonly number[];
  readonly duplicates: number;
};

function placeRows(
  state: IntakeState,
  samples: Samples,
  p: { refused: ReadonlySet<number>; isSeen: ((timeMs: number) => boolean) | undefined },
): PlacedRows {
  const { timesMs } = samples;
  const { refused } = p;
  const isSeen = p.isSeen ?? ((timeMs: number) => isCovered(state.runs, timeMs));
  const newestMs = state.pending.timesMs.at(-1) ?? state.passedMs ?? -Infinity;
  let isRising = refused.size === 0 && (timesMs[0] ?? Infinity) > newestMs;
  for (let i = 1; i < timesMs.length && isRising; i += 1)
    isRising = (timesMs[i] as number) > (timesMs[i - 1] as number);
  if (isRising) return { isInOrder: true, fresh: [], late: [], duplicates: 0 };
  const passedMs = state.passedMs ?? -Infinity;
  const fresh: number[] = [];
  const late: number[] = [];
  let duplicates = 0;
  for (const [index, timeMs] of timesMs.entries()) {
    if (refused.has(index)) continue;
    if (timeMs > passedMs) fresh.push(index);
    else if (isSeen(timeMs)) duplicates += rowsAt(samples, index);
    else late.push(index);
  }
  return { isInOrder: false, fresh, late, duplicates };
}

function emit(
  state: IntakeState,
  p: { merged: MergedRows; held: number; late: PendingRows | undefined },
): { readonly state: IntakeState; readonly blocks: readonly SampleBlock[] } {
  const { merged } = p;
  const count = Math.max(0, merged.timesMs.length - p.held);
  const going = sliceRows(merged, 0, count);
  const common = { unit: state.unit, source: state.source, troubleCodes: state.troubleCodes };
  const lateBlocks: Blocks =
    p.late === undefined || p.late.timesMs.length === 0
      ? { blocks: [], barometric: null }
      : sampleBlocks({ ...common, troubleCodes: null, rows: p.late, barometric: null });
  const onTime = sampleBlocks({ ...common, rows: going, barometric: state.barometric });
  const withLate = coverTimes({ runs: state.runs, timesMs: p.late?.timesMs ?? [], gapMs: state.gapMs });
  return {
    state: {
      ...state,
      passedMs: going.timesMs.at(-1) ?? state.passedMs,
      runs: count === 0 ? withLate : coverTimes({ runs: withLate, timesMs: going.timesMs, gapMs: state.gapMs }),
      barometric: onTime.barometric,
      pending: sliceRows(merged, count, merged.timesMs.length),
    },
    blocks: [...lateBlocks.blocks, ...onTime.blocks],
  };
}

function sliceRows(rows: PendingRows, from: number, to: number): PendingRows {
  const columns: { [K in SignalKey]?: readonly (number | null)[] } = {};
  for (const [key, values] of Object.entries(rows.columns)) {
    const part = values?.slice(from, to) ?? [];
    if (part.some((value) => value !== null)) columns[key as SignalKey] = part;
  }
  return { timesMs: rows.timesMs.slice(from, to), columns };
}

// Median of the steps at up to 64 places: one pause in a log does not make it a slow one.
function typicalStepMs(timesMs: readonly number[]): number {
  const stride = Math.max(1, Math.floor(timesMs.length / 64));
  const steps: number[] = [];
  for (let i = 1; i < timesMs.length; i += stride) steps.push((timesMs[i] ?? 0) - (timesMs[i - 1] ?? 0));
  steps.sort((a, b) => a - b);
  return steps[steps.length >> 1] ?? 0;
}

function rowsAt(samples: Samples, index: number): number {
  return samples.rowCounts === undefined ? 1 : (samples.rowCounts[index] ?? 0);
}

function countRows(samples: Samples, rows: readonly number[]): number {
  return rows.reduce((sum, index) => sum + rowsAt(samples, index), 0);
}

function countAllRows(samples: Samples): number {
  return samples.rowCounts === undefined
    ? samples.timesMs.length
    : samples.rowCounts.reduce((sum, count) => sum + count, 0);
}
