import { SIGNAL_KEYS, type SignalKey } from '../../schemas/signals.ts';

/**
 * Times that have gone to the log, exactly: times that follow each other by one step, with the same signals, are one
 * run. A logger that keeps its beat needs one run for years.
 */
export type SeenRun = {
  readonly startMs: number;
  stepMs: number;
  count: number;
  /** 1 for each signal of the table, in its order, that was there. */
  readonly present: Uint8Array;
};

/** What has been seen. Nothing is known of times up to `floorMs` but what the intake's covered runs say. */
export type SeenTimes = { floorMs: number; readonly runs: SeenRun[] };

/** Runs that are remembered of a unit and source. Beyond, the oldest is forgotten and the floor rises. */
export const SEEN_RUNS_MAX = 512;

/** Nothing seen after `floorMs`. */
export function noSeenTimes(floorMs: number): SeenTimes {
  return { floorMs, runs: [] };
}

/** Adds a time. Rising times of one step make the fewest runs. */
export function addSeenTime(seen: SeenTimes, p: { timeMs: number; present: Uint8Array }): void {
  const last = seen.runs.at(-1);
  if (last !== undefined && samePresence(last.present, p.present)) {
    if (last.count === 1 && p.timeMs > last.startMs) {
      last.stepMs = p.timeMs - last.startMs;
      last.count = 2;
      return;
    }
    if (last.count > 1 && p.timeMs === last.startMs + last.stepMs * last.count) {
      last.count += 1;
      return;
    }
  }
  seen.runs.push({ startMs: p.timeMs, stepMs: 0, count: 1, present: p.present.slice() });
  if (seen.runs.length <= SEEN_RUNS_MAX) return;
  let oldest = 0;
  for (let i = 1; i < seen.runs.length; i += 1) {
    if (endMs(seen.runs[i]) < endMs(seen.runs[oldest])) oldest = i;
  }
  seen.floorMs = Math.max(seen.floorMs, endMs(seen.runs[oldest]));
  seen.runs.splice(oldest, 1);
}

/**
 * Marks in `into` which signals were seen at a time.
 *
 * @returns Whether anything was seen then. Asked only of times above the floor.
 */
export function seenAt(seen: SeenTimes, timeMs: number, into: Uint8Array): boolean {
  into.fill(0);
  let isSeen = false;
  for (const run of seen.runs) {
    const after = timeMs - run.startMs;
    if (after < 0) continue;
    const index = run.stepMs === 0 ? (after === 0 ? 0 : -1) : after / run.stepMs;
    if (index < 0 || index >= run.count || !Number.isInteger(index)) continue;
    isSeen = true;
    for (let i = 0; i < into.length; i += 1) into[i] = (into[i] as number) | (run.present[i] as number);
  }
  return isSeen;
}

/** What has been seen as plain JSON; signals by name, so that the table may grow. */
export type StoredSeenTimes = {
  readonly version: 1;
  readonly floorMs: number;
  readonly patterns: readonly (readonly SignalKey[])[];
  /** Start, step, count, and index of the pattern. */
  readonly runs: readonly (readonly [number, number, number, number])[];
};

/** For storing. */
export function encodeSeenTimes(seen: SeenTimes): StoredSeenTimes {
  const patterns = new Map<string, number>();
  const runs = seen.runs.map((run): [number, number, number, number] => {
    const name = keysOf(run.present).join(' ');
    const pattern = patterns.get(name) ?? patterns.size;
    patterns.set(name, pattern);
    return [run.startMs, run.stepMs, run.count, pattern];
  });
  return {
    version: 1,
    floorMs: seen.floorMs,
    patterns: [...patterns.keys()].map((name) => name.split(' ').filter((key) => key !== '') as SignalKey[]),
    runs,
  };
}

/** Read back; the shape has been checked. */
export function decodeSeenTimes(stored: StoredSeenTimes): SeenTimes {
  const patterns = stored.patterns.map((keys) => {
    const names: readonly string[] = keys;
    return Uint8Array.from(SIGNAL_KEYS, (key) => (names.includes(key) ? 1 : 0));
  });
  return {
    floorMs: stored.floorMs,
    runs: stored.runs.map(([startMs, stepMs, count, pattern]) => ({
      startMs,
      stepMs,
      count,
      present: patterns[pattern] ?? new Uint8Array(SIGNAL_KEYS.length),
    })),
  };
}

function endMs(run: SeenRun | undefined): number {
  return run === undefined ? -Infinity : run.startMs + run.stepMs * (run.count - 1);
}

function keysOf(present: Uint8Array): SignalKey[] {
  return SIGNAL_KEYS.filter((_, i) => present[i] === 1);
}

function samePresence(a: Uint8Array, b: Uint8Array): boolean {
  for (let i = 0; i < a.length; i += 1) if (a[i] !== b[i]) return false;
  return true;
}
