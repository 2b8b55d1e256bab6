import { z } from 'zod';
import { assert } from '../../schemas/assert.ts';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import { SIGNAL_KEYS } from '../../schemas/signals.ts';
import type { Json } from '../../storage/log/port.ts';
import { EARLIEST_TIME_MS } from '../checks.ts';
import { isCovered } from '../covered-runs.ts';
import type { Samples } from '../formats/decoder.ts';
import { takeIn } from '../intake.ts';
import { decodeIntake, type IntakeState, initialIntake } from '../intake-state.ts';
import { LoadError } from '../load-error.ts';
import {
  closeRows,
  decodeOpenRows,
  encodeOpenRows,
  noOpenRows,
  type OpenRow,
  type OpenRows,
  SIGNAL_INDEX,
  type StoredOpenRows,
} from './open-rows.ts';
import {
  addSeenTime,
  decodeSeenTimes,
  encodeSeenTimes,
  noSeenTimes,
  type SeenTimes,
  type StoredSeenTimes,
  seenAt,
} from './seen-times.ts';

/** What ingest knows of one unit and live source. */
export type LiveUnit = { readonly unit: string; intake: IntakeState; readonly open: OpenRows; seen: SeenTimes };

/** A row younger than the newest by less may still be filled up or overtaken, and is not sent on yet. */
export const SETTLE_MS = 5000;

/** What came of some rows. */
export type TakenRows = { readonly accepted: number; readonly duplicates: number; readonly late: number };

/** The state of a unit and source of which nothing has come. */
export function emptyLiveUnit(p: { unit: string; source: string }): LiveUnit {
  return { unit: p.unit, intake: initialIntake(p), open: noOpenRows(), seen: noSeenTimes(-Infinity) };
}

/**
 * Takes rows among the open ones. A row whose time is known counts as a duplicate unless it brings a signal that the
 * known one lacks; the first value of a signal at a time stays.
 *
 * @param samples - Of this unit; checked for clock and range.
 */
export function takeRows(unit: LiveUnit, samples: Samples): TakenRows {
  const tally = { accepted: 0, duplicates: 0, late: 0 };
  const passedMs = unit.intake.passedMs ?? -Infinity;
  const known = new Uint8Array(SIGNAL_KEYS.length);
  const columns = [...samples.columns].map(([key, values]) => ({ index: SIGNAL_INDEX.get(key) ?? 0, values }));
  for (let at = 0; at < samples.timesMs.length; at += 1) {
    const timeMs = samples.timesMs[at] as number;
    const count = samples.rowCounts?.[at] ?? 1;
    const row = unit.open.rows.get(timeMs);
    const isLate = timeMs <= passedMs;
    if (!isLate) known.fill(0);
    else if (isKnown(unit, timeMs, known) && !bringsMore(columns, at, known)) {
      tally.duplicates += count;
      continue;
    }
    const target = row ?? new Float64Array(SIGNAL_KEYS.length).fill(Number.NaN);
    if (!fill(target, columns, at, known) && row !== undefined) {
      tally.duplicates += count;
      continue;
    }
    if (row === undefined) unit.open.rows.set(timeMs, target);
    if (timeMs > unit.open.newestMs) unit.open.newestMs = timeMs;
    tally.accepted += count;
    if (isLate) tally.late += count;
  }
  if (samples.troubleCodes !== undefined) unit.open.troubleCodes = samples.troubleCodes;
  return tally;
}

type Column = { readonly index: number; readonly values: Float64Array };

function isKnown(unit: LiveUnit, timeMs: number, known: Uint8Array): boolean {
  if (timeMs > unit.seen.floorMs) return seenAt(unit.seen, timeMs, known);
  if (!isCovered(unit.intake.runs, timeMs)) {
    known.fill(0);
    return false;
  }
  known.fill(1);
  return true;
}

function bringsMore(columns: readonly Column[], at: number, known: Uint8Array): boolean {
  return columns.some(({ index, values }) => known[index] === 0 && !Number.isNaN(values[at]));
}

function fill(row: OpenRow, columns: readonly Column[], at: number, known: Uint8Array): boolean {
  let isNew = false;
  for (const { index, values } of columns) {
    const value = values[at] as number;
    if (Number.isNaN(value) || known[index] === 1 || !Number.isNaN(row[index])) continue;
    row[index] = value;
    isNew = true;
  }
  return isNew;
}

/**
 * Sends open rows on through the intake.
 *
 * @param p.all - Also rows that have not settled: nothing will follow for now.
 * @returns Blocks for the log; none when nothing could go.
 */
export function sendOn(unit: LiveUnit, p: { all: boolean }): readonly SampleBlock[] {
  const upToMs = p.all ? Infinity : unit.open.newestMs - SETTLE_MS;
  const samples = closeRows(unit.open, { unit: unit.unit, upToMs });
  if (samples === undefined) return [];
  // Rows were checked against the clock as it stood when they came; by now it may have been set back.
  const clock = { earliestMs: EARLIEST_TIME_MS, latestMs: Infinity };
  const taken = takeIn(unit.intake, samples, { clock, isLast: true, isSeen: () => false });
  assert(taken.rejects.length === 0 && taken.duplicates === 0, 'rows are checked and new when they are taken');
  unit.intake = taken.state;
  const present = new Uint8Array(SIGNAL_KEYS.length);
  for (let at = 0; at < samples.timesMs.length; at += 1) {
    present.fill(0);
    for (const [key, values] of samples.columns) {
      if (!Number.isNaN(values[at])) present[SIGNAL_INDEX.get(key) ?? 0] = 1;
    }
    addSeenTime(unit.seen, { timeMs: samples.timesMs[at] as number, present });
  }
  return taken.blocks;
}

/** The three states of a unit and source, by what they are called in the log. */
export type LiveKeys = { readonly intake: string; readonly open: string; readonly seen: string };

/** Keys of the states of a unit and source. */
export function liveKeys(p: { unit: string; source: string }): LiveKeys {
  const name = `${p.unit}/${p.source}`;
  return { intake: `intake:${name}`, open: `live-open:${name}`, seen: `live-seen:${name}` };
}

/** Open rows for storing. */
export function encodeOpen(unit: LiveUnit): Json {
  return encodeOpenRows(unit.open) as unknown as Json;
}

/** Seen times for storing. */
export function encodeSeen(unit: LiveUnit): Json {
  // JSON has no infinity.
  return encodeSeenTimes({ ...unit.seen, floorMs: Math.max(unit.seen.floorMs, 0) }) as unknown as Json;
}

const openSchema = z.strictObject({
  version: z.literal(1),
  t: z.array(z.number()),
  columns: z.record(z.string(), z.array(z.number().nullable())),
  troubleCodes: z
    .array(z.strictObject({ spn: z.int(), fmi: z.int(), count: z.int(), sourceAddress: z.int() }))
    .nullable(),
});
const seenSchema = z.strictObject({
  version: z.literal(1),
  floorMs: z.number(),
  patterns: z.array(z.array(z.string())),
  runs: z.array(z.tuple([z.number(), z.number(), z.number(), z.number()])),
});

/**
 * A unit as it was stored.
 *
 * @param p.open - `undefined` where nothing is stored; the same for the others.
 * @throws LoadError when a state is damaged or of a newer program.
 */
export function restoreLiveUnit(p: {
  unit: string;
  source: string;
  intake: unknown;
  open: unknown;
  seen: unknown;
}): LiveUnit {
  const unit = emptyLiveUnit(p);
  if (p.intake !== undefined) {
    const intake = decodeIntake(p.intake);
    if (!intake.ok) throw new LoadError('state_unreadable', intake.reject.detail);
    unit.intake = intake.value;
  }
  const open = p.open === undefined ? undefined : openSchema.safeParse(p.open);
  const seen = p.seen === undefined ? undefined : seenSchema.safeParse(p.seen);
  if (open?.success === false || seen?.success === false) {
    throw new LoadError(
      'state_unreadable',
      `What the log says of ${p.unit} from ${p.source} cannot be read; it is damaged or was written by a newer program. Use that program, or restore the log from its last copy.`,
    );
  }
  return {
    unit: p.unit,
    intake: unit.intake,
    open: open === undefined ? unit.open : decodeOpenRows(open.data as StoredOpenRows),
    // Without exact memory, what the intake covers is all that is known.
    seen:
      seen === undefined
        ? noSeenTimes(unit.intake.passedMs ?? -Infinity)
        : decodeSeenTimes(seen.data as StoredSeenTimes),
  };
}
