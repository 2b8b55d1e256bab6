import { existsSync, mkdirSync, mkdtempSync, readFileSync, rmSync, truncateSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import { openSqliteHistory } from '../history/sqlite.ts';
import { createSqliteLog, openSqliteLog } from '../log/sqlite.ts';
import { LOG_FILE } from '../log/sqlite-schema.ts';
import { PortError } from '../port-error.ts';
import { openDatabase } from './driver.ts';
import { openSqliteFile } from './file.ts';

let folder = '';
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'chargeair-'));
});
afterEach(() => rmSync(folder, { recursive: true, force: true }));

async function errorOf(work: () => unknown): Promise<PortError> {
  try {
    await work();
  } catch (error) {
    if (error instanceof PortError) return error;
    throw error;
  }
  throw new Error('it was expected to fail');
}

/** A step that remembers a text of so many characters. */
function remembering(characters: number) {
  return { group: 'g', emit: [], state: [{ key: 'k', value: 'x'.repeat(characters) }] };
}

describe('opening', () => {
  test('a file of a newer schema is refused and left as it is', async () => {
    const path = join(folder, 'log.sqlite');
    await openSqliteLog({ path }).close();
    const database = openDatabase({ path, readOnly: false, busyTimeoutMs: 0 });
    database.pragma('user_version = 99');
    database.close();
    const before = readFileSync(path);
    const error = await errorOf(() => openSqliteLog({ path }));
    expect(error).toMatchObject({ port: 'log', code: 'version_newer', retryable: false });
    expect(error.message).toContain(path);
    expect(readFileSync(path)).toEqual(before);
  });

  test("another program's file, and a log as a history, are refused as foreign", async () => {
    const path = join(folder, 'other.sqlite');
    const database = openDatabase({ path, readOnly: false, busyTimeoutMs: 0 });
    database.exec('CREATE TABLE recipes (name TEXT)');
    database.close();
    expect((await errorOf(() => openSqliteLog({ path }))).code).toBe('foreign');
    const log = join(folder, 'log.sqlite');
    await openSqliteLog({ path: log }).close();
    expect((await errorOf(() => openSqliteHistory({ path: log }))).code).toBe('foreign');
  });

  test('a text file and a file with a broken head are refused as corrupt', async () => {
    const path = join(folder, 'log.sqlite');
    writeFileSync(path, 'time;boost\n'.repeat(1000));
    expect((await errorOf(() => openSqliteLog({ path }))).code).toBe('corrupt');
  });

  test('reading only needs a file and makes none', async () => {
    const path = join(folder, 'log.sqlite');
    expect((await errorOf(() => openSqliteLog({ path, readOnly: true }))).code).toBe('missing');
    expect(existsSync(path)).toBe(false);
  });

  test('a folder in place of a file cannot be opened', async () => {
    const path = join(folder, 'log.sqlite');
    mkdirSync(path);
    expect((await errorOf(() => openSqliteLog({ path }))).code).toBe('cannot_open');
  });

  test('a file in place of a folder cannot be opened', async () => {
    writeFileSync(join(folder, 'file'), '');
    expect((await errorOf(() => openSqliteLog({ path: join(folder, 'file', 'log.sqlite') }))).code).toBe('cannot_open');
  });

  test(':memory: is a log like any other', async () => {
    const log = openSqliteLog({ path: ':memory:' });
    await log.commit(remembering(3));
    expect((await log.states({ group: 'g', keys: ['k'] })).get('k')?.value).toBe('xxx');
    await log.close();
  });
});

describe('failing', () => {
  test('a reader cannot commit, but reads what a writer commits', async () => {
    const path = join(folder, 'log.sqlite');
    const writer = openSqliteLog({ path });
    const reader = openSqliteLog({ path, readOnly: true });
    await writer.commit(remembering(3));
    expect((await reader.states({ group: 'g', keys: ['k'] })).get('k')?.value).toBe('xxx');
    expect((await errorOf(() => reader.commit(remembering(1)))).code).toBe('read_only');
    await reader.close();
    await writer.close();
  });

  test('a full disk refuses the step whole, and the log goes on once there is room', async () => {
    const file = openSqliteFile({ path: join(folder, 'log.sqlite'), readOnly: false, kind: LOG_FILE });
    const log = createSqliteLog(file);
    await log.commit(remembering(10));
    // SQLite answers SQLITE_FULL at this limit as it does when the disk has no room.
    file.database.pragma('max_page_count = 20');
    const error = await errorOf(() => log.commit({ ...remembering(1_000_000), group: 'g' }));
    expect(error).toMatchObject({ port: 'log', code: 'disk_full', retryable: true });
    expect((await log.states({ group: 'g', keys: ['k'] })).get('k')).toEqual({ value: 'x'.repeat(10), version: 1 });
    file.database.pragma('max_page_count = 1000000');
    await log.commit(remembering(1_000_000));
    expect((await log.states({ group: 'g', keys: ['k'] })).get('k')?.version).toBe(2);
    await log.close();
  });

  test('a log held by another process is busy, and trying again can help', async () => {
    const path = join(folder, 'log.sqlite');
    const file = openSqliteFile({ path, readOnly: false, kind: LOG_FILE });
    const log = createSqliteLog(file);
    file.database.pragma('busy_timeout = 1');
    const other = openDatabase({ path, readOnly: false, busyTimeoutMs: 0 });
    other.exec('BEGIN IMMEDIATE');
    expect(await errorOf(() => log.commit(remembering(1)))).toMatchObject({ code: 'busy', retryable: true });
    other.exec('ROLLBACK');
    await log.commit(remembering(1));
    other.close();
    await log.close();
  });

  test('a file cut short is corrupt, said with its path', async () => {
    const path = join(folder, 'log.sqlite');
    const before = openSqliteLog({ path });
    await before.commit(remembering(500_000));
    await before.close();
    truncateSync(path, 3 * 4096);
    const error = await errorOf(async () => {
      const log = openSqliteLog({ path });
      try {
        await log.states({ group: 'g', keys: ['k'] });
      } finally {
        await log.close();
      }
    });
    expect(error.code).toBe('corrupt');
    expect(error.message).toContain(path);
  });

  test('damaged values are record_unreadable', async () => {
    const path = join(folder, 'log.sqlite');
    const file = openSqliteFile({ path, readOnly: false, kind: LOG_FILE });
    const log = createSqliteLog(file);
    await log.commit(remembering(5));
    file.database.exec(`UPDATE group_states SET value = '{"half":'`);
    expect((await errorOf(() => log.states({ group: 'g', keys: ['k'] }))).code).toBe('record_unreadable');
    file.database.exec(`INSERT INTO records (topic, key, value) VALUES ('samples', 'u', x'0102030405060708')`);
    expect((await errorOf(() => log.poll({ group: 'g', topics: ['samples'], max: 1 }))).code).toBe('record_unreadable');
    await log.close();
  });

  test('the write-ahead file is folded back when it has grown', async () => {
    const path = join(folder, 'log.sqlite');
    const writer = openSqliteLog({ path });
    const reader = openDatabase({ path, readOnly: true, busyTimeoutMs: 0 });
    // A reader that does not rest keeps SQLite from starting the write-ahead file over.
    reader.exec('BEGIN');
    reader.prepare('SELECT count(*) FROM records').get();
    for (let i = 0; i < 20; i += 1) {
      const value = String.fromCharCode(97 + i).repeat(4_000_000);
      await writer.commit({ group: 'g', emit: [], state: [{ key: 'k', value }] });
    }
    const grown = readFileSync(`${path}-wal`).length;
    expect(grown).toBeGreaterThan(64 * 2 ** 20);
    reader.exec('COMMIT');
    for (let i = 0; i < 32; i += 1) await writer.commit(remembering(10));
    expect(readFileSync(`${path}-wal`).length).toBeLessThan(2 ** 20);
    reader.close();
    await writer.close();
  });
});
