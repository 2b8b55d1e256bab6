import type { TroubleCode } from '../../schemas/sample-block.ts';
import { SIGNAL_KEYS, type SignalKey } from '../../schemas/signals.ts';
import type { Samples } from '../formats/decoder.ts';

/** Values of one time, in the order of the signal table; NaN where there is none. */
export type OpenRow = Float64Array;

/**
 * Rows of one unit that have been accepted and are durable, and may still be filled up: signals that a source sends one
 * by one meet here in one row.
 */
export type OpenRows = {
  readonly rows: Map<number, OpenRow>;
  newestMs: number;
  troubleCodes: readonly TroubleCode[] | undefined;
};

/** Place of each signal in a row. */
export const SIGNAL_INDEX: ReadonlyMap<SignalKey, number> = new Map(SIGNAL_KEYS.map((key, i) => [key, i]));

/** Without rows. */
export function noOpenRows(): OpenRows {
  return { rows: new Map(), newestMs: -Infinity, troubleCodes: undefined };
}

/**
 * Takes rows out, in the order of their times, as the intake takes them.
 *
 * @param p.upToMs - Only rows of this time and before.
 * @returns `undefined` when there are none.
 */
export function closeRows(open: OpenRows, p: { unit: string; upToMs: number }): Samples | undefined {
  const times = [...open.rows.keys()].filter((timeMs) => timeMs <= p.upToMs).sort((a, b) => a - b);
  if (times.length === 0) return undefined;
  const columns = new Map<SignalKey, Float64Array>();
  for (const [at, timeMs] of times.entries()) {
    const row = open.rows.get(timeMs) as OpenRow;
    open.rows.delete(timeMs);
    for (let i = 0; i < row.length; i += 1) {
      const value = row[i] as number;
      if (Number.isNaN(value)) continue;
      const key = SIGNAL_KEYS[i] as SignalKey;
      let column = columns.get(key);
      if (column === undefined) {
        column = new Float64Array(times.length).fill(Number.NaN);
        columns.set(key, column);
      }
      column[at] = value;
    }
  }
  return {
    unit: p.unit,
    timesMs: Float64Array.from(times),
    columns,
    ...(open.troubleCodes === undefined ? {} : { troubleCodes: open.troubleCodes }),
  };
}

/** Open rows as plain JSON. */
export type StoredOpenRows = {
  readonly version: 1;
  readonly t: readonly number[];
  readonly columns: { readonly [key: string]: readonly (number | null)[] };
  readonly troubleCodes: readonly TroubleCode[] | null;
};

/** For storing. */
export function encodeOpenRows(open: OpenRows): StoredOpenRows {
  const t = [...open.rows.keys()];
  const columns: Record<string, (number | null)[]> = {};
  for (const [at, row] of [...open.rows.values()].entries()) {
    for (let i = 0; i < row.length; i += 1) {
      const value = row[i] as number;
      if (Number.isNaN(value)) continue;
      const key = SIGNAL_KEYS[i] as SignalKey;
      columns[key] ??= new Array<null>(t.length).fill(null);
      columns[key][at] = value;
    }
  }
  return { version: 1, t, columns, troubleCodes: open.troubleCodes ?? null };
}

/** Read back; the shape has been checked. */
export function decodeOpenRows(stored: StoredOpenRows): OpenRows {
  const open = noOpenRows();
  open.troubleCodes = stored.troubleCodes ?? undefined;
  for (const timeMs of stored.t) {
    open.rows.set(timeMs, new Float64Array(SIGNAL_KEYS.length).fill(Number.NaN));
    open.newestMs = Math.max(open.newestMs, timeMs);
  }
  for (const [key, values] of Object.entries(stored.columns)) {
    const index = SIGNAL_INDEX.get(key as SignalKey);
    if (index === undefined) continue;
    for (const [at, value] of values.entries()) {
      const row = open.rows.get(stored.t[at] ?? Number.NaN);
      if (row !== undefined && value !== null) row[index] = value;
    }
  }
  return open;
}
