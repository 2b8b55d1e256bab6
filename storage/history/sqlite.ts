import { assert } from '../../schemas/assert.ts';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import { type FileKind, openSqliteFile, rowOf, rowsOf, type SqliteFile } from '../sqlite/file.ts';
import { decodePoints, encodePoints, seriesOfChunk } from './point-columns.ts';
import type { HistoryPort, SeriesBucket, SeriesOf } from './port.ts';
import { createThinning, seriesValue } from './thin.ts';

/**
 * The history's file: part 0 of a day holds a unit's points of that UTC day, packed by column. Packing a day again for
 * every new point would cost far more than the point, so small writes are laid beside it as parts 1, 2, ..., the later
 * ones outdoing the earlier, and are folded in when they are many or the unit goes on to another day.
 * All can be worked out again from the log, so it is synced lazily: a power cut may cost the newest points, not the file.
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
      part INTEGER NOT NULL,
      first_ms INTEGER NOT NULL,
      last_ms INTEGER NOT NULL,
      points INTEGER NOT NULL,
      packed BLOB NOT NULL,
      PRIMARY KEY (unit, day, part)
    ) STRICT;
    CREATE INDEX chunks_to_fold ON chunks (unit, day) WHERE part > 0;
  `,
};

const DAY_MS = 86_400_000;
/** Rows read at once; keeps the memory of a reader bounded, and lets others in between. */
const CHUNKS_A_PAGE = 64;
/** Parts are folded into their day when there are so many of them, or so many points in them. */
const PARTS_TO_FOLD = 32;
const POINTS_TO_FOLD = 128;

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
    series: async (q) => series(file, statements, q),
    latest: async ({ unit }) => file.guard('read', () => latest(statements, unit)),
    extent: async ({ unit }) =>
      file.guard('read', () => {
        const row = rowOf<{ fromMs: number | null; toMs: number | null }>(statements.extent, unit, unit, unit);
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
    day: file.prepare('SELECT day, part, points, packed FROM chunks WHERE unit = ? AND day = ? ORDER BY part'),
    sizes: file.prepare('SELECT part, points FROM chunks WHERE unit = ? AND day = ? ORDER BY part'),
    from: file.prepare(
      'SELECT day, part, points, packed FROM chunks WHERE unit = ? AND day >= ? AND day <= ? ORDER BY day, part LIMIT ?',
    ),
    toFold: file.prepare('SELECT DISTINCT day FROM chunks WHERE unit = ? AND part > 0'),
    lastDay: file.prepare('SELECT max(day) AS day FROM chunks WHERE unit = ?'),
    extent: file.prepare(
      `SELECT min(first_ms) AS fromMs, max(last_ms) AS toMs FROM chunks
       WHERE unit = ? AND day IN ((SELECT min(day) FROM chunks WHERE unit = ?), (SELECT max(day) FROM chunks WHERE unit = ?))`,
    ),
    remove: file.prepare('DELETE FROM chunks WHERE unit = ? AND day = ?'),
    add: file.prepare(
      'INSERT INTO chunks (unit, day, part, first_ms, last_ms, points, packed) VALUES (?, ?, ?, ?, ?, ?, ?)',
    ),
  };
}

type ChunkRow = { readonly day: number; readonly part: number; readonly points: number; readonly packed: Uint8Array };

function dayOf(timeMs: number): number {
  return Math.floor(timeMs / DAY_MS);
}

/** One transaction for all, so that a write is there whole or not at all. */
function write(file: SqliteFile, statements: Statements, points: readonly HistoryPoint[]): void {
  if (points.length === 0) return;
  file.transaction('write points to', () => {
    for (const [unit, own] of groupBy(points, (one) => one.point.unit)) {
      const days = groupBy(own, (one) => dayOf(one.point.toMs));
      for (const [day, added] of days) add(statements, { unit, day, added });
      const behind = rowsOf<{ day: number }>(statements.toFold, unit).filter(({ day }) => !days.has(day));
      for (const { day } of behind) fold(statements, { unit, day, added: [] });
    }
  });
}

function groupBy<T, K>(all: readonly T[], keyOf: (one: T) => K): Map<K, T[]> {
  const groups = new Map<K, T[]>();
  for (const one of all) {
    const group = groups.get(keyOf(one));
    if (group === undefined) groups.set(keyOf(one), [one]);
    else group.push(one);
  }
  return groups;
}

/** Lays points beside what the day has, or folds all into one when that is due. */
function add(statements: Statements, p: { unit: string; day: number; added: readonly HistoryPoint[] }): void {
  const sizes = rowsOf<{ part: number; points: number }>(statements.sizes, p.unit, p.day);
  const parts = sizes.filter(({ part }) => part > 0);
  const points = parts.reduce((sum, one) => sum + one.points, p.added.length);
  if (points >= POINTS_TO_FOLD || parts.length + 1 >= PARTS_TO_FOLD) fold(statements, p);
  else save(statements, { ...p, part: (sizes.at(-1)?.part ?? 0) + 1, points: mergePoints([p.added]) });
}

/** Makes one part of a day's parts and the points added to it. */
function fold(statements: Statements, p: { unit: string; day: number; added: readonly HistoryPoint[] }): void {
  const before = rowsOf<ChunkRow>(statements.day, p.unit, p.day);
  const points = mergePoints([...before.map(({ packed }) => decodePoints(p.unit, packed)), p.added]);
  statements.remove.run(p.unit, p.day);
  save(statements, { ...p, part: 0, points });
}

function save(
  statements: Statements,
  p: { unit: string; day: number; part: number; points: readonly HistoryPoint[] },
): void {
  const first = p.points[0];
  const last = p.points.at(-1);
  assert(first !== undefined && last !== undefined, 'a chunk has points');
  const packed = encodePoints(p.points);
  statements.add.run(p.unit, p.day, p.part, first.point.toMs, last.point.toMs, p.points.length, packed);
}

/** All points in the order of their times; of several with the same end time the last one given stays. */
function mergePoints(runs: readonly (readonly HistoryPoint[])[]): HistoryPoint[] {
  const byTime = new Map<number, HistoryPoint>();
  for (const run of runs) for (const one of run) byTime.set(one.point.toMs, one);
  return [...byTime.values()].sort((a, b) => a.point.toMs - b.point.toMs);
}

function latest(statements: Statements, unit: string): HistoryPoint | undefined {
  const day = rowOf<{ day: number | null }>(statements.lastDay, unit)?.day ?? undefined;
  if (day === undefined) return undefined;
  const rows = rowsOf<ChunkRow>(statements.day, unit, day);
  return mergePoints(rows.map(({ packed }) => decodePoints(unit, packed))).at(-1);
}

/** The rows of a range day by day, each day with all its parts. Reads a page at a time, and none while it waits. */
function* daysOf(
  file: SqliteFile,
  statements: Statements,
  p: { unit: string; fromMs: number; toMs: number },
): Generator<readonly ChunkRow[]> {
  for (let from = dayOf(p.fromMs); ; ) {
    const day = from;
    const page = file.guard('read', () => rowsOf<ChunkRow>(statements.from, p.unit, day, dayOf(p.toMs), CHUNKS_A_PAGE));
    const days = [...groupBy(page, (row) => row.day).values()];
    const full = page.length === CHUNKS_A_PAGE;
    // The last day of a full page may lack parts; it is read again, whole, by the next page.
    if (full) days.pop();
    assert(!full || days.length > 0, 'a day has fewer parts than a page has rows');
    yield* days;
    const last = page.at(-1);
    if (!full || last === undefined) return;
    from = last.day;
  }
}

async function* points(
  file: SqliteFile,
  statements: Statements,
  p: { unit: string; fromMs: number; toMs: number },
): AsyncGenerator<HistoryPoint> {
  for (const day of daysOf(file, statements, p)) {
    for (const one of mergePoints(day.map(({ packed }) => decodePoints(p.unit, packed)))) {
      if (one.point.toMs >= p.fromMs && one.point.toMs < p.toMs) yield one;
    }
  }
}

function series(
  file: SqliteFile,
  statements: Statements,
  p: { unit: string; of: SeriesOf; fromMs: number; toMs: number; buckets: number },
): readonly SeriesBucket[] {
  assert(Number.isSafeInteger(p.buckets) && p.buckets >= 1, 'a series has at least one column');
  if (p.toMs <= p.fromMs) return [];
  const thinning = createThinning(p);
  for (const [first, ...more] of daysOf(file, statements, p)) {
    if (first === undefined) continue;
    if (more.length === 0) {
      for (const { atMs, one } of seriesOfChunk(first.packed, p.of)) thinning.add(atMs, one);
      continue;
    }
    // A later part may have replaced a point of an earlier one, also by a point that lacks this series.
    for (const point of mergePoints([first, ...more].map(({ packed }) => decodePoints(p.unit, packed)))) {
      const one = seriesValue(point, p.of);
      if (one !== undefined) thinning.add(point.point.toMs, one);
    }
  }
  return thinning.buckets();
}
