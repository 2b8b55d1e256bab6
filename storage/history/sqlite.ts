import { assert } from '../../schemas/assert.ts';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import { type FileKind, openSqliteFile, rowOf, rowsOf, type SqliteFile } from '../sqlite/file.ts';
import { decodePoints, encodePoints, seriesOfChunk } from './point-columns.ts';
import type { HistoryPort, SeriesBucket, SeriesOf } from './port.ts';
import { createThinning } from './thin.ts';

/**
 * The history's file: one row holds a unit's points of one UTC day, packed by column. It can be worked out again from
 * the log, so it is synced lazily: a power cut may cost the newest points, never the file.
 */
const HISTORY_FILE: FileKind = {
  port: 'history',
  applicationId: 0x43414831,
  schemaVersion: 1,
  synchronous: 'NORMAL',
  pageBytes: 1024,
  schema: `
    CREATE TABLE chunks (
      unit TEXT NOT NULL,
      day INTEGER NOT NULL,
      first_ms INTEGER NOT NULL,
      last_ms INTEGER NOT NULL,
      points INTEGER NOT NULL,
      packed BLOB NOT NULL,
      PRIMARY KEY (unit, day)
    ) STRICT;
  `,
};

const DAY_MS = 86_400_000;
/** Days read at once; keeps the memory of a reader bounded, and lets others in between. */
const DAYS_A_PAGE = 16;

/**
 * The history in one SQLite file in write-ahead mode; a second process may read it, or write it, at the same time.
 *
 * Numbers are rounded when kept: values to 4 significant digits, running hours to 9; spreads within a point and
 * uncertainties and control statistics to 2; the deviation of an expectation to 3; nothing finer than 10^-9. Times, counts and texts are kept as they are.
 *
 * @param p.path - File name; folders are made as needed. `:memory:` for a history that is gone when closed.
 * @param p.readOnly - True to read a file without making or changing it.
 * @throws PortError when the file cannot be opened: `missing`, `cannot_open`, `foreign`, `corrupt`, `version_newer`,
 *   `busy`, `read_only`, `io`. The methods reject with these and with `disk_full`, `closed` and `record_unreadable`.
 */
export function openSqliteHistory(p: { path: string; readOnly?: boolean }): HistoryPort {
  const file = openSqliteFile({ path: p.path, readOnly: p.readOnly ?? false, kind: HISTORY_FILE });
  const statements = createStatements(file);
  return {
    write: async (points) => write(file, statements, points),
    points: (q) => points(file, statements, q),
    series: async (q) => file.guard('read', () => series(statements, q)),
    latest: async ({ unit }) =>
      file.guard('read', () => {
        const row = rowOf<{ packed: Uint8Array }>(statements.newest, unit);
        return row === undefined ? undefined : decodePoints(unit, row.packed).at(-1);
      }),
    extent: async ({ unit }) =>
      file.guard('read', () => {
        const row = rowOf<{ fromMs: number | null; toMs: number | null }>(statements.extent, unit, unit);
        return row === undefined || row.fromMs === null || row.toMs === null
          ? undefined
          : { fromMs: row.fromMs, toMs: row.toMs };
      }),
    close: async () => file.close(),
  };
}

type Statements = ReturnType<typeof createStatements>;

function createStatements(file: SqliteFile) {
  return {
    chunk: file.prepare('SELECT packed FROM chunks WHERE unit = ? AND day = ?'),
    chunks: file.prepare(
      'SELECT day, packed FROM chunks WHERE unit = ? AND day >= ? AND day <= ? ORDER BY day LIMIT ?',
    ),
    newest: file.prepare('SELECT packed FROM chunks WHERE unit = ? ORDER BY day DESC LIMIT 1'),
    extent: file.prepare(
      `SELECT (SELECT first_ms FROM chunks WHERE unit = ? ORDER BY day LIMIT 1) AS fromMs,
              (SELECT last_ms FROM chunks WHERE unit = ? ORDER BY day DESC LIMIT 1) AS toMs`,
    ),
    save: file.prepare(
      `INSERT INTO chunks (unit, day, first_ms, last_ms, points, packed) VALUES (?, ?, ?, ?, ?, ?)
       ON CONFLICT DO UPDATE SET first_ms = excluded.first_ms, last_ms = excluded.last_ms,
         points = excluded.points, packed = excluded.packed`,
    ),
  };
}

function dayOf(timeMs: number): number {
  return Math.floor(timeMs / DAY_MS);
}

/** One transaction for all, so that a write is there whole or not at all. */
function write(file: SqliteFile, statements: Statements, points: readonly HistoryPoint[]): void {
  if (points.length === 0) return;
  const byUnit = groupBy(points, (one) => one.point.unit);
  file.transaction('write points to', () => {
    for (const [unit, own] of byUnit) {
      for (const [day, added] of groupBy(own, (one) => dayOf(one.point.toMs))) merge(statements, { unit, day, added });
    }
  });
}

function groupBy<K>(points: readonly HistoryPoint[], keyOf: (one: HistoryPoint) => K): Map<K, HistoryPoint[]> {
  const groups = new Map<K, HistoryPoint[]>();
  for (const one of points) {
    const group = groups.get(keyOf(one));
    if (group === undefined) groups.set(keyOf(one), [one]);
    else group.push(one);
  }
  return groups;
}

/** Adds points to a unit's day; of two with the same end time the one written last stays. */
function merge(statements: Statements, p: { unit: string; day: number; added: readonly HistoryPoint[] }): void {
  const row = rowOf<{ packed: Uint8Array }>(statements.chunk, p.unit, p.day);
  const before = row === undefined ? [] : decodePoints(p.unit, row.packed);
  const byTime = new Map([...before, ...p.added].map((one) => [one.point.toMs, one]));
  const all = [...byTime.values()].sort((a, b) => a.point.toMs - b.point.toMs);
  const first = all[0];
  const last = all.at(-1);
  assert(first !== undefined && last !== undefined, 'a chunk has points');
  statements.save.run(p.unit, p.day, first.point.toMs, last.point.toMs, all.length, encodePoints(all));
}

async function* points(
  file: SqliteFile,
  statements: Statements,
  p: { unit: string; fromMs: number; toMs: number },
): AsyncGenerator<HistoryPoint> {
  for (let day = dayOf(p.fromMs); ; ) {
    const from = day;
    const page = file.guard('read', () => chunksFrom(statements, p, from));
    for (const chunk of page) {
      for (const point of decodePoints(p.unit, chunk.packed)) {
        if (point.point.toMs >= p.fromMs && point.point.toMs < p.toMs) yield point;
      }
    }
    const last = page.at(-1);
    if (last === undefined) return;
    day = last.day + 1;
  }
}

function chunksFrom(statements: Statements, p: { unit: string; toMs: number }, day: number) {
  return rowsOf<{ day: number; packed: Uint8Array }>(statements.chunks, p.unit, day, dayOf(p.toMs), DAYS_A_PAGE);
}

function series(
  statements: Statements,
  p: { unit: string; of: SeriesOf; fromMs: number; toMs: number; buckets: number },
): readonly SeriesBucket[] {
  assert(Number.isSafeInteger(p.buckets) && p.buckets >= 1, 'a series has at least one column');
  if (p.toMs <= p.fromMs) return [];
  const thinning = createThinning(p);
  for (let day = dayOf(p.fromMs); ; ) {
    const page = chunksFrom(statements, p, day);
    for (const { packed } of page) for (const { atMs, one } of seriesOfChunk(packed, p.of)) thinning.add(atMs, one);
    const last = page.at(-1);
    if (last === undefined) return thinning.buckets();
    day = last.day + 1;
  }
}
