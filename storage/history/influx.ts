import {
  type FluxTableMetaData,
  flux,
  fluxDateTime,
  InfluxDB,
  type ParameterizedQuery,
  type Row,
} from '@influxdata/influxdb-client';
import { assert } from '../../schemas/assert.ts';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import { asHistoryError, historyError, isPassing } from './influx-errors.ts';
import {
  type FieldValue,
  FROM_FIELD,
  LAYOUT_FIELD,
  type Line,
  lineOf,
  MEASUREMENT,
  pointOf,
  seriesFields,
} from './influx-fields.ts';
import type { InfluxSettings } from './influx-settings.ts';
import { decodePoints, encodePoints } from './point-columns.ts';
import type { HistoryPort, SeriesBucket, SeriesOf } from './port.ts';
import { createThinning, type SeriesValue } from './thin.ts';

/** Points in one request, some 5 kB each before they are squeezed. */
const POINTS_A_REQUEST = 1000;
/** Points that are read at once; keeps the memory of a reader bounded. */
const POINTS_A_PAGE = 500;
/** How often a request that meets a broken connection or a busy database is tried before it is given up. */
const ATTEMPTS = 6;
const FIRST_PAUSE_MS = 100;
const TIMEOUT_MS = 30_000;
/** Times that the database can hold, in whole milliseconds: 64-bit nanoseconds around 1970. */
const FIRST_MS = Date.UTC(1677, 8, 22);
const LAST_MS = Date.UTC(2262, 3, 11);

/**
 * The history in InfluxDB 2, for fleets whose history shall be seen by tools that speak to one.
 *
 * Numbers are rounded as the embedded history rounds them, so both show the same. A resolved write has been confirmed by
 * the database, request by request; nothing is sent in the background. A point that has other fields than before is
 * deleted and written anew: between the two it is missing, and a write that dies there is repeated by its caller.
 *
 * @throws PortError when the database cannot be used: `unreachable`, `forbidden`, `missing`. The methods reject with
 *   these and with `busy`, `refused`, `too_big`, `record_unreadable` and `closed`.
 */
export async function openInfluxHistory(settings: InfluxSettings): Promise<HistoryPort> {
  const client = new InfluxDB({ url: settings.url, token: settings.token, timeout: TIMEOUT_MS });
  const database = createDatabase(client, settings);
  const found = await database.rows(
    flux`buckets() |> filter(fn: (r) => r.name == ${settings.bucket}) |> keep(columns: ["name"])`,
  );
  if (found.length === 0) {
    throw historyError({
      code: 'missing',
      message: `${settings.url} has no bucket "${settings.bucket}" in "${settings.org}" that this token may read. Make it, or name another.`,
    });
  }
  const underWay = new Set<Promise<unknown>>();
  let isClosed = false;
  async function during<T>(work: () => Promise<T>): Promise<T> {
    checkOpen();
    const own = work();
    underWay.add(own);
    try {
      return await own;
    } finally {
      underWay.delete(own);
    }
  }
  function checkOpen(): void {
    if (isClosed) throw historyError({ code: 'closed', message: 'The history has been closed.' });
  }
  return {
    write: (points) => during(() => write(database, points)),
    points: (p) => readPoints(database, checkOpen, p),
    series: (p) => during(() => series(database, p)),
    latest: ({ unit }) => during(() => latest(database, unit)),
    extent: ({ unit }) =>
      during(async () => {
        const first = await edge(database, unit, 'first');
        const last = await edge(database, unit, 'last');
        return first === undefined || last === undefined ? undefined : { fromMs: first, toMs: last };
      }),
    close: async () => {
      isClosed = true;
      await Promise.allSettled([...underWay]);
    },
  };
}

type Database = ReturnType<typeof createDatabase>;

function createDatabase(client: InfluxDB, settings: InfluxSettings) {
  const place = new URLSearchParams({ org: settings.org, bucket: settings.bucket });
  const post = (path: string, body: string, headers: { readonly [name: string]: string }) =>
    client.transport.request(path, body, { method: 'POST', headers: { ...headers }, gzipThreshold: 1024 });
  return {
    bucket: settings.bucket,
    /** Resolves when the database has confirmed that all lines are on its disk. */
    writeLines: (lines: readonly string[]) =>
      patiently('write points', () =>
        post(`/api/v2/write?${place}&precision=ms`, lines.join('\n'), { 'content-type': 'text/plain; charset=utf-8' }),
      ),
    deletePoint: (unit: string, atMs: number) =>
      patiently('replace a point', () =>
        post(
          `/api/v2/delete?${place}`,
          JSON.stringify({
            start: timeOf(atMs),
            stop: timeOf(atMs + 1),
            predicate: `_measurement="${MEASUREMENT}" AND unit="${unit.replace(/[\\"]/g, '\\$&')}"`,
          }),
          { 'content-type': 'application/json' },
        ),
      ),
    rows: (query: ParameterizedQuery) =>
      patiently('read', async () => {
        const rows: Row[] = [];
        for await (const row of client.getQueryApi(settings.org).iterateRows(query)) rows.push(row);
        return rows;
      }),
  };
}

async function patiently<T>(doing: string, work: () => Promise<T>): Promise<T> {
  for (let attempt = 1; ; attempt += 1) {
    try {
      return await work();
    } catch (error) {
      if (!isPassing(error) || attempt >= ATTEMPTS) throw asHistoryError(doing, error);
      await new Promise((resolve) => setTimeout(resolve, FIRST_PAUSE_MS * 2 ** (attempt - 1)));
    }
  }
}

function timeOf(atMs: number): string {
  return new Date(atMs).toISOString();
}

/** Rows of a unit in `fromMs <= time < toMs`, of these fields or of all. */
function select(p: { bucket: string; unit: string; fromMs: number; toMs: number; fields?: readonly string[] }) {
  const { bucket, unit, fields } = p;
  const start = fluxDateTime(timeOf(Math.max(p.fromMs, FIRST_MS)));
  const stop = fluxDateTime(timeOf(Math.min(p.toMs, LAST_MS)));
  const all = flux`from(bucket: ${bucket}) |> range(start: ${start}, stop: ${stop}) |> filter(fn: (r) => r._measurement == ${MEASUREMENT} and r.unit == ${unit})`;
  // Names of what is the same in every row would be most of the answer.
  const keep = flux`|> keep(columns: ["_time", "_field", "_value"])`;
  if (fields === undefined) return flux`${all} ${keep}`;
  // Spelt out, as only comparisons like these are made where the data is; a set is looked through value by value.
  const [first = '', ...rest] = fields;
  const named = rest.reduce((before, field) => flux`${before} or r._field == ${field}`, flux`r._field == ${first}`);
  return flux`${all} |> filter(fn: (r) => ${named}) ${keep}`;
}

/** Values by time and field, times rising. */
function byTime(rows: readonly Row[]): [number, Map<string, FieldValue>][] {
  const found = new Map<string, Map<string, FieldValue>>();
  let columns: ReturnType<typeof columnsOf> | undefined;
  for (const { values, tableMeta } of rows) {
    // Rows come table by table, a field each.
    if (columns?.of !== tableMeta) columns = columnsOf(tableMeta);
    const time = values[columns.time];
    const field = values[columns.field];
    const text = values[columns.value];
    if (time === undefined || field === undefined || text === undefined) continue;
    const fields = found.get(time) ?? new Map<string, FieldValue>();
    if (fields.size === 0) found.set(time, fields);
    fields.set(field, columns.isText ? text : Number(text));
  }
  return [...found]
    .map(([time, fields]) => [Date.parse(time), fields] as [number, typeof fields])
    .sort(([a], [b]) => a - b);
}

function columnsOf(table: FluxTableMetaData) {
  const value = table.column('_value');
  return {
    of: table,
    time: table.column('_time').index,
    field: table.column('_field').index,
    value: value.index,
    isText: value.dataType === 'string',
  };
}

async function write(database: Database, points: readonly HistoryPoint[]): Promise<void> {
  const byUnit = new Map<string, Map<number, HistoryPoint>>();
  for (const one of points) {
    const own = byUnit.get(one.point.unit) ?? new Map<number, HistoryPoint>();
    // Of several with the same end time the last one given stays.
    byUnit.set(one.point.unit, own.set(one.point.toMs, one));
  }
  const lines: string[] = [];
  for (const [unit, own] of byUnit) {
    const sorted = [...own.values()].sort((a, b) => a.point.toMs - b.point.toMs);
    // There and back: the one rule of rounding, so that both histories show the same numbers.
    const rounded = decodePoints(unit, encodePoints(sorted)).map((one) => ({
      atMs: one.point.toMs,
      line: lineOf(one),
    }));
    await makeRoom(database, unit, rounded);
    for (const { line } of rounded) lines.push(line.text);
  }
  for (let from = 0; from < lines.length; from += POINTS_A_REQUEST) {
    await database.writeLines(lines.slice(from, from + POINTS_A_REQUEST));
  }
}

/** Deletes points that might otherwise keep fields of an earlier writing: the database merges, it does not replace. */
async function makeRoom(
  database: Database,
  unit: string,
  lines: readonly { readonly atMs: number; readonly line: Line }[],
): Promise<void> {
  const first = lines[0];
  const last = lines.at(-1);
  if (first === undefined || last === undefined) return;
  const range = { fromMs: first.atMs, toMs: last.atMs + 1 };
  const there = await database.rows(select({ ...database, unit, ...range, fields: [LAYOUT_FIELD] }));
  const layouts = new Map(byTime(there).map(([atMs, fields]) => [atMs, fields.get(LAYOUT_FIELD)]));
  for (const { atMs, line } of lines) {
    const before = layouts.get(atMs);
    if (before !== undefined && before !== line.layout) await database.deletePoint(unit, atMs);
  }
}

async function* readPoints(
  database: Database,
  checkOpen: () => void,
  p: { unit: string; fromMs: number; toMs: number },
): AsyncGenerator<HistoryPoint> {
  for (let fromMs = p.fromMs; fromMs < p.toMs; ) {
    checkOpen();
    const times = await database.rows(
      flux`${select({ ...database, ...p, fromMs, fields: [FROM_FIELD] })} |> limit(n: ${POINTS_A_PAGE})`,
    );
    const last = byTime(times).at(-1);
    if (last === undefined) return;
    const toMs = last[0] + 1;
    for (const [atMs, fields] of byTime(await database.rows(select({ ...database, unit: p.unit, fromMs, toMs })))) {
      const point = pointOf({ unit: p.unit, toMs: atMs, fields });
      if (point === undefined) throw strange(p.unit, atMs);
      yield point;
    }
    fromMs = toMs;
  }
}

function strange(unit: string, atMs: number): Error {
  return historyError({
    code: 'record_unreadable',
    message: `What stands at ${timeOf(atMs)} for unit "${unit}" in the measurement "${MEASUREMENT}" was not written by chargeair. Delete it.`,
  });
}

async function series(
  database: Database,
  p: { unit: string; of: SeriesOf; fromMs: number; toMs: number; buckets: number },
): Promise<readonly SeriesBucket[]> {
  assert(Number.isSafeInteger(p.buckets) && p.buckets >= 1, 'a series has at least one column');
  if (p.toMs <= p.fromMs) return [];
  const names = seriesFields(p.of);
  const fields = [names.value, names.expected, names.sd].filter((name) => name !== undefined);
  const thinning = createThinning(p);
  for (const [atMs, found] of byTime(await database.rows(select({ ...database, ...p, fields })))) {
    const number = (name: string | undefined) => {
      const value = name === undefined ? undefined : found.get(name);
      return typeof value === 'number' ? value : undefined;
    };
    const value = number(names.value);
    if (value === undefined) continue;
    const one: SeriesValue = { value, expected: number(names.expected), sd: number(names.sd) };
    thinning.add(atMs, one);
  }
  return thinning.buckets();
}

/** Time of a unit's first or last point. */
async function edge(database: Database, unit: string, which: 'first' | 'last'): Promise<number | undefined> {
  const all = select({ ...database, unit, fromMs: FIRST_MS, toMs: LAST_MS, fields: [FROM_FIELD] });
  const rows = await database.rows(which === 'first' ? flux`${all} |> first()` : flux`${all} |> last()`);
  return byTime(rows)[0]?.[0];
}

async function latest(database: Database, unit: string): Promise<HistoryPoint | undefined> {
  const atMs = await edge(database, unit, 'last');
  if (atMs === undefined) return undefined;
  const [row] = byTime(await database.rows(select({ ...database, unit, fromMs: atMs, toMs: atMs + 1 })));
  return row === undefined ? undefined : pointOf({ unit, toMs: atMs, fields: row[1] });
}
