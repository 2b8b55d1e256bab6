import { isSignalKey, type SignalKey } from '../schemas/signals.ts';
import type { Samples } from './formats/decoder.ts';
import type { PendingRows } from './intake-state.ts';

/** Rows in strictly rising order, and the samples left out because their time was there already. */
export type MergedRows = PendingRows & { readonly dropped: readonly number[] };

/**
 * Rows held back and new ones together, in order. Of rows of one time the first to come stays.
 *
 * @param p.rows - Indices of the samples to take; left out, all of them, which then rise and follow the pending ones.
 */
export function mergeRows(p: {
  pending: PendingRows;
  samples: Samples;
  rows: readonly number[] | undefined;
}): MergedRows {
  const { pending, samples, rows } = p;
  const held = pending.timesMs.length;
  if (rows === undefined) {
    const columns: { [K in SignalKey]?: (number | null)[] } = {};
    const count = samples.timesMs.length;
    for (const key of keysOf(pending, samples)) {
      const joined: (number | null)[] = pending.columns[key]?.slice() ?? new Array<null>(held).fill(null);
      const values = samples.columns.get(key);
      for (let i = 0; i < count; i += 1) {
        const value = values === undefined ? Number.NaN : (values[i] as number);
        joined.push(Number.isNaN(value) ? null : value);
      }
      columns[key] = joined;
    }
    return { timesMs: [...pending.timesMs, ...samples.timesMs], columns, dropped: [] };
  }
  // Above the held rows, an index stands for a sample; held rows came first, and the sort is stable.
  const order = [...pending.timesMs.keys(), ...rows.map((row) => held + row)];
  const timeAt = (index: number) => (index < held ? pending.timesMs[index] : samples.timesMs[index - held]) ?? 0;
  order.sort((a, b) => timeAt(a) - timeAt(b));
  const kept: number[] = [];
  const dropped: number[] = [];
  let beforeMs = -Infinity;
  for (const index of order) {
    const timeMs = timeAt(index);
    if (timeMs === beforeMs) dropped.push(index - held);
    else kept.push(index);
    beforeMs = timeMs;
  }
  const columns: { [K in SignalKey]?: (number | null)[] } = {};
  for (const key of keysOf(pending, samples)) {
    const values = samples.columns.get(key);
    columns[key] = kept.map((index) => {
      if (index < held) return pending.columns[key]?.[index] ?? null;
      const value = values?.[index - held];
      return value === undefined || Number.isNaN(value) ? null : value;
    });
  }
  return { timesMs: kept.map(timeAt), columns, dropped };
}

/** Some of the samples in order. */
export function sortedRows(p: { samples: Samples; rows: readonly number[] }): {
  readonly rows: PendingRows | undefined;
  readonly dropped: readonly number[];
} {
  if (p.rows.length === 0) return { rows: undefined, dropped: [] };
  const { dropped, ...rows } = mergeRows({ pending: { timesMs: [], columns: {} }, samples: p.samples, rows: p.rows });
  return { rows, dropped };
}

function keysOf(pending: PendingRows, samples: Samples): SignalKey[] {
  return [...new Set([...Object.keys(pending.columns).filter(isSignalKey), ...samples.columns.keys()])];
}
