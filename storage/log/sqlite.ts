import { assert } from '../../schemas/assert.ts';
import { fileError } from '../sqlite/errors.ts';
import { openSqliteFile, rowOf, rowsOf, type SqliteFile } from '../sqlite/file.ts';
import type { Batch, LogPort, LogRecord, Position, Step, StoredState, Topic } from './port.ts';
import { decodeRecord, decodeState, encodeValue, type RecordRow } from './record-codec.ts';
import { LOG_FILE } from './sqlite-schema.ts';

/** Packed size at which a batch or a page of a scan ends early; keeps the memory of every reader bounded. */
const MAX_BATCH_BYTES = 4 * 2 ** 20;
const SCAN_PAGE_RECORDS = 256;
const STATES_PAGE = 32;

/** What a position of this adapter holds: where the group stood when it was polled, and where it will stand. */
type Token = { readonly topics: readonly { readonly topic: Topic; readonly from: number }[]; readonly to: number };

/**
 * The log in one SQLite file in write-ahead mode; a second process may have it open at the same time.
 *
 * A resolved commit has been synced to the disk. Work is done on the calling thread, a few milliseconds a step.
 *
 * @param p.path - File name; folders are made as needed. `:memory:` for a log that is gone when closed.
 * @param p.readOnly - True to read a file without making or changing it.
 * @throws PortError when the file cannot be opened: `missing`, `cannot_open`, `foreign`, `corrupt`, `version_newer`,
 *   `busy`, `read_only`, `io`. The methods reject with these and with `disk_full`, `closed` and `record_unreadable`.
 */
export function openSqliteLog(p: { path: string; readOnly?: boolean }): LogPort {
  return createSqliteLog(openSqliteFile({ path: p.path, readOnly: p.readOnly ?? false, kind: LOG_FILE }));
}

/** The log over an open file; {@link openSqliteLog} is the way for everybody but tests of failing files. */
export function createSqliteLog(file: SqliteFile): LogPort {
  const reads = createReads(file);
  const writes = createWrites(file);
  return {
    poll: async (p) => file.guard('read', () => poll(file, reads, p)),
    commit: async (step) => commit(file, writes, step),
    states: async (p) => file.guard('read', () => states(file, reads, p)),
    allStates: (p) => allStates(file, reads, p),
    scan: (p) => scan(file, reads, p) as AsyncIterable<Extract<LogRecord, { topic: typeof p.topic }>>,
    lag: async (p) =>
      file.guard('read', () =>
        p.topics.reduce((sum, topic) => sum + countAfter(reads, { topic, after: offsetOf(reads, p.group, topic) }), 0),
      ),
    close: async () => file.close(),
  };
}

type Reads = ReturnType<typeof createReads>;
type Writes = ReturnType<typeof createWrites>;

function createReads(file: SqliteFile) {
  return {
    offset: file.prepare('SELECT "offset" FROM group_offsets WHERE group_name = ? AND topic = ?'),
    count: file.prepare('SELECT count(*) AS count FROM records WHERE topic = ? AND "offset" > ?'),
    // Sizes come from the heads of the rows; the values themselves are read only for those that are taken.
    after: file.prepare(
      'SELECT "offset", topic, key, octet_length(value) AS bytes FROM records WHERE topic = ? AND "offset" > ? ORDER BY "offset" LIMIT ?',
    ),
    afterOfKey: file.prepare(
      'SELECT "offset", topic, key, octet_length(value) AS bytes FROM records WHERE topic = ? AND key = ? AND "offset" > ? ORDER BY "offset" LIMIT ?',
    ),
    value: file.prepare('SELECT value FROM records WHERE "offset" = ?'),
    state: file.prepare('SELECT version, value FROM group_states WHERE group_name = ? AND key = ?'),
    states: file.prepare(
      'SELECT key, version, value FROM group_states WHERE group_name = ? AND key > ? AND value IS NOT NULL ORDER BY key LIMIT ?',
    ),
  };
}

function createWrites(file: SqliteFile) {
  return {
    offset: file.prepare('SELECT "offset" FROM group_offsets WHERE group_name = ? AND topic = ?'),
    version: file.prepare(
      'SELECT version, value IS NULL AS forgotten FROM group_states WHERE group_name = ? AND key = ?',
    ),
    record: file.prepare('INSERT INTO records (topic, key, value) VALUES (?, ?, ?)'),
    saveState: file.prepare(
      `INSERT INTO group_states (group_name, key, version, value) VALUES (?, ?, 1, ?)
       ON CONFLICT DO UPDATE SET version = version + 1, value = excluded.value`,
    ),
    saveOffset: file.prepare(
      `INSERT INTO group_offsets (group_name, topic, "offset") VALUES (?, ?, ?)
       ON CONFLICT DO UPDATE SET "offset" = excluded."offset"`,
    ),
  };
}

type Head = Omit<RecordRow, 'value'> & { readonly bytes: number };

function poll(
  file: SqliteFile,
  reads: Reads,
  p: { group: string; topics: readonly Topic[]; max: number },
): Batch | undefined {
  assert(p.max >= 1 && p.topics.length > 0, 'a poll asks for at least one record of at least one topic');
  const topics = [...new Set(p.topics)].map((topic) => ({ topic, from: offsetOf(reads, p.group, topic) }));
  const heads = topics.flatMap(({ topic, from }) => rowsOf<Head>(reads.after, topic, from, p.max));
  heads.sort((a, b) => a.offset - b.offset);
  const records = takeRecords(file, reads, heads.slice(0, p.max));
  const last = records.at(-1);
  if (last === undefined) return undefined;
  const token: Token = { topics, to: last.offset };
  return { records, position: { group: p.group, token } };
}

/** Reads the values of these rows, in order, until they are too many bytes; at least one. */
function takeRecords(file: SqliteFile, reads: Reads, heads: readonly Head[]): LogRecord[] {
  const records: LogRecord[] = [];
  let bytes = 0;
  for (const head of heads) {
    bytes += head.bytes;
    if (bytes > MAX_BATCH_BYTES && records.length > 0) break;
    const row = rowOf<{ value: Uint8Array }>(reads.value, head.offset);
    assert(row !== undefined, 'a record that was found in the index is there');
    records.push(decodeRecord(file, { offset: head.offset, topic: head.topic, key: head.key, value: row.value }));
  }
  return records;
}

/** Offset of the last record that the group has dealt with; 0 before the first. */
function offsetOf(statements: { readonly offset: Reads['offset'] }, group: string, topic: Topic): number {
  return rowOf<{ offset: number }>(statements.offset, group, topic)?.offset ?? 0;
}

function countAfter(reads: Reads, p: { topic: Topic; after: number }): number {
  return rowOf<{ count: number }>(reads.count, p.topic, p.after)?.count ?? 0;
}

/** One transaction. What is to be written is packed before it begins, so that the lock is held as short as can be. */
function commit(file: SqliteFile, writes: Writes, step: Step): void {
  const records = step.emit.map((emit) => ({ topic: emit.topic, key: emit.key, value: encodeValue(emit) }));
  assert(
    step.state.every(({ key }) => key !== ''),
    'a state has a key',
  );
  const changes = step.state.map(({ key, value }) => ({ key, text: value === null ? null : JSON.stringify(value) }));
  file.transaction('write a step to', () => {
    for (const seen of step.expect ?? []) checkVersion(file, writes, step.group, seen);
    if (step.position !== undefined) moveTo(file, writes, step.group, step.position);
    for (const record of records) writes.record.run(record.topic, record.key, record.value);
    for (const change of changes) saveState(writes, step.group, change);
  });
}

function saveState(writes: Writes, group: string, change: { key: string; text: string | null }): void {
  const nothingToForget = change.text === null && (versionOf(writes, group, change.key) ?? 0) === 0;
  if (!nothingToForget) writes.saveState.run(group, change.key, change.text);
}

/** Version of a key's state; 0 when it has none. */
function versionOf(writes: Writes, group: string, key: string): number {
  const row = rowOf<{ version: number; forgotten: number }>(writes.version, group, key);
  return row === undefined || row.forgotten === 1 ? 0 : row.version;
}

function checkVersion(file: SqliteFile, writes: Writes, group: string, seen: { key: string; version: number }): void {
  const version = versionOf(writes, group, seen.key);
  if (version === seen.version) return;
  throw fileError(file, {
    code: 'state_changed',
    message: `The state of "${seen.key}" has changed meanwhile (version ${version}, not ${seen.version}). Look at it again and repeat the change.`,
  });
}

function moveTo(file: SqliteFile, writes: Writes, group: string, position: Position): void {
  assert(position.group === group, 'a step commits a position of its own group');
  const token = position.token as Token;
  for (const { topic, from } of token.topics) {
    if (offsetOf(writes, group, topic) !== from) {
      throw fileError(file, {
        code: 'position_moved',
        message: `These records of "${topic}" have been dealt with already by another "${group}" on ${file.path}. Run one of them only.`,
      });
    }
    writes.saveOffset.run(group, topic, Math.max(from, token.to));
  }
}

type StateRow = { readonly key: string; readonly version: number; readonly value: string };

function states(
  file: SqliteFile,
  reads: Reads,
  p: { group: string; keys: readonly string[] },
): ReadonlyMap<string, StoredState> {
  const found = new Map<string, StoredState>();
  for (const key of p.keys) {
    const row = rowOf<{ version: number; value: string | null }>(reads.state, p.group, key);
    if (row === undefined || row.value === null) continue;
    found.set(key, { version: row.version, value: decodeState(file, { key, value: row.value }) });
  }
  return found;
}

/** Page by page: a statement left open between two turns of the loop would block every other on this connection. */
async function* allStates(file: SqliteFile, reads: Reads, p: { group: string }) {
  for (let after = ''; ; ) {
    const page = file.guard('read', () => rowsOf<StateRow>(reads.states, p.group, after, STATES_PAGE));
    for (const row of page) yield { key: row.key, state: { version: row.version, value: decodeState(file, row) } };
    const last = page.at(-1);
    if (last === undefined) return;
    after = last.key;
  }
}

async function* scan(file: SqliteFile, reads: Reads, p: { topic: Topic; key?: string }): AsyncGenerator<LogRecord> {
  for (let after = 0; ; ) {
    const from = after;
    const page = file.guard('read', () => {
      const heads =
        p.key === undefined
          ? rowsOf<Head>(reads.after, p.topic, from, SCAN_PAGE_RECORDS)
          : rowsOf<Head>(reads.afterOfKey, p.topic, p.key, from, SCAN_PAGE_RECORDS);
      return takeRecords(file, reads, heads);
    });
    yield* page;
    const last = page.at(-1);
    if (last === undefined) return;
    after = last.offset;
  }
}
