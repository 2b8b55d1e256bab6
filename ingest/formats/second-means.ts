import type { TroubleCode } from '../../schemas/sample-block.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import type { Samples } from './decoder.ts';

const SECOND_MS = 1000;

/**
 * Puts readings that come one by one on a common time axis: one sample a second, at the start of the second, each
 * signal the mean of its valid readings in that second. Nothing is carried from one second into the next, so an old
 * reading cannot stand beside a new one.
 */
export type SecondMeans = {
  /** Counts a row of the file in, whether it carries a signal or not. */
  countRow(timeMs: number): void;
  /** A valid reading within its range; `signal` is the index in the list of keys. */
  add(p: { signal: number; timeMs: number; value: number }): void;
  /** Seconds that are complete: all of them when the file has ended, else the oldest while too many are open. */
  take(isLast: boolean): { readonly samples: Samples | undefined; readonly emptyRows: number };
};

type Second = { readonly sums: Float64Array; readonly counts: Int32Array; rows: number };

/**
 * Means over seconds for one unit.
 *
 * @param p.openSecondsMax - So many seconds stay open for readings that come late, as in files sorted by channel. The
 *   older half is closed when there are more; a reading for a closed second opens it anew.
 * @param p.troubleCodes - The engine's active codes at this moment.
 */
export function createSecondMeans(p: {
  unit: string;
  keys: readonly SignalKey[];
  openSecondsMax: number;
  troubleCodes?: () => readonly TroubleCode[] | undefined;
}): SecondMeans {
  const open = new Map<number, Second>();
  let current: Second | undefined;
  let currentSecond = Number.NaN;
  const secondAt = (timeMs: number): Second => {
    const second = Math.floor(timeMs / SECOND_MS);
    if (second === currentSecond && current !== undefined) return current;
    current = open.get(second);
    if (current === undefined) {
      current = { sums: new Float64Array(p.keys.length), counts: new Int32Array(p.keys.length), rows: 0 };
      open.set(second, current);
    }
    currentSecond = second;
    return current;
  };
  const closed = (isLast: boolean): number[] => {
    const seconds = [...open.keys()].sort((a, b) => a - b);
    return isLast ? seconds : seconds.slice(0, seconds.length - (p.openSecondsMax >> 1));
  };
  return {
    countRow(timeMs) {
      secondAt(timeMs).rows += 1;
    },
    add({ signal, timeMs, value }) {
      const second = secondAt(timeMs);
      second.sums[signal] = (second.sums[signal] as number) + value;
      second.counts[signal] = (second.counts[signal] as number) + 1;
    },
    take(isLast) {
      if (!isLast && open.size <= p.openSecondsMax) return { samples: undefined, emptyRows: 0 };
      const seconds = closed(isLast);
      const filled: { second: number; sums: Second }[] = [];
      let emptyRows = 0;
      for (const second of seconds) {
        const sums = open.get(second);
        open.delete(second);
        if (sums === undefined) continue;
        if (sums.counts.some((count) => count > 0)) filled.push({ second, sums });
        else emptyRows += sums.rows;
      }
      current = undefined;
      currentSecond = Number.NaN;
      const troubleCodes = p.troubleCodes?.();
      if (filled.length === 0) return { samples: undefined, emptyRows };
      const columns = p.keys.flatMap((key, signal) => {
        if (!filled.some(({ sums }) => (sums.counts[signal] as number) > 0)) return [];
        const mean = ({ sums }: { sums: Second }) => (sums.sums[signal] as number) / (sums.counts[signal] as number);
        return [[key, Float64Array.from(filled, mean)] as const];
      });
      return {
        samples: {
          unit: p.unit,
          timesMs: Float64Array.from(filled, ({ second }) => second * SECOND_MS),
          columns: new Map(columns),
          rowCounts: Float64Array.from(filled, ({ sums }) => sums.rows),
          ...(troubleCodes === undefined ? {} : { troubleCodes }),
        },
        emptyRows,
      };
    },
  };
}
