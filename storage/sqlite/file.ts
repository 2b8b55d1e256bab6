import { existsSync, mkdirSync, statSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { openDatabase, type SqliteDatabase, type SqlValue, type Statement, sqliteCode } from './driver.ts';
import { asPortError, type FileOf, fileError, messageOf } from './errors.ts';

/** What a database file is and how careful to be with it. */
export type FileKind = {
  readonly port: 'log' | 'history';
  /** Four bytes in the file's head that tell our files from others and from one another. */
  readonly applicationId: number;
  readonly schemaVersion: number;
  /** Makes the tables of `schemaVersion` in an empty file. */
  readonly schema: string;
  /** FULL survives the machine's death; NORMAL only the process's, for what can be worked out again. */
  readonly synchronous: 'FULL' | 'NORMAL';
  /** Small pages waste less behind rows of many kilobytes, large ones are fewer to look after. */
  readonly pageBytes: number;
};

/** An open file of one port. Every failure that leaves it is a PortError. */
export type SqliteFile = FileOf & {
  readonly database: SqliteDatabase;
  prepare(sql: string): Statement;
  /** Does the work and names it if it fails. */
  guard<T>(doing: string, work: () => T): T;
  /** Does the work in one transaction, all or nothing, that takes the write lock at once. */
  transaction<T>(doing: string, work: () => T): T;
  close(): void;
};

/** How long a process waits for another's transaction before it reports `busy`. */
const BUSY_TIMEOUT_MS = 5000;
/** The write-ahead file is folded back once it is larger; a reader that never rests could otherwise let it grow. */
const WAL_LIMIT_BYTES = 64 * 2 ** 20;
const WAL_CHECK_EVERY_TRANSACTIONS = 32;
const PAGES_BEFORE_CHECKPOINT = 4000;
const OPEN_TRIES = 50;
const OPEN_PAUSE_MS = 100;

/**
 * Opens or makes a database file in write-ahead mode, with its tables.
 *
 * @param p.path - File name, or `:memory:` for one that is gone when closed.
 * @throws PortError `missing` when there is no file to read, `version_newer`, `foreign`, or as in {@link asPortError}.
 */
export function openSqliteFile(p: { path: string; readOnly: boolean; kind: FileKind }): SqliteFile {
  const inMemory = p.path === ':memory:';
  const path = inMemory ? p.path : resolve(p.path);
  const file: FileOf = { port: p.kind.port, path };
  if (p.readOnly && !inMemory && !existsSync(path)) {
    throw fileError(file, {
      code: 'missing',
      message: `There is no ${file.port} at ${path}; start chargeair once to make it.`,
    });
  }
  if (!p.readOnly && !inMemory) makeFolder(file);
  const database = tryToOpen(file, () => openDatabase({ path, readOnly: p.readOnly, busyTimeoutMs: BUSY_TIMEOUT_MS }));
  try {
    tryToOpen(file, () => setUp({ file, database, kind: p.kind, readOnly: p.readOnly }));
  } catch (error) {
    database.close();
    throw error;
  }
  return createSqliteFile(file, database, inMemory || p.readOnly);
}

function makeFolder(file: FileOf): void {
  try {
    mkdirSync(dirname(file.path), { recursive: true });
  } catch (cause) {
    throw fileError(file, {
      code: 'cannot_open',
      message: `Could not make the folder of ${file.path}: ${messageOf(cause)}. Choose a folder this user may write to.`,
      cause,
    });
  }
}

/** Changing to write-ahead mode does not wait for another process that does the same, so it is tried again here. */
function tryToOpen<T>(file: FileOf, work: () => T): T {
  for (let tries = 1; ; tries += 1) {
    try {
      return work();
    } catch (error) {
      if (tries === OPEN_TRIES || !sqliteCode(error)?.startsWith('SQLITE_BUSY')) throw asPortError(file, 'open', error);
      Atomics.wait(new Int32Array(new SharedArrayBuffer(4)), 0, 0, OPEN_PAUSE_MS);
    }
  }
}

function setUp(p: { file: FileOf; database: SqliteDatabase; kind: FileKind; readOnly: boolean }): void {
  const { database, kind } = p;
  const number = (name: string) => Number(database.pragma(name, { simple: true }));
  checkHead(p.file, kind, {
    applicationId: number('application_id'),
    version: number('user_version'),
    readOnly: p.readOnly,
  });
  if (p.readOnly) return;
  // Takes effect in an empty file only.
  database.pragma(`page_size = ${kind.pageBytes}`);
  if (database.pragma('journal_mode', { simple: true }) === 'delete') database.pragma('journal_mode = WAL');
  database.pragma(`synchronous = ${kind.synchronous}`);
  database.pragma(`journal_size_limit = ${WAL_LIMIT_BYTES}`);
  database.pragma(`wal_autocheckpoint = ${PAGES_BEFORE_CHECKPOINT}`);
  database.exec('BEGIN IMMEDIATE');
  try {
    // Looked at again under the lock: another process may have made the tables meanwhile.
    if (number('user_version') === 0) {
      const tables = Number(
        (database.prepare('SELECT count(*) AS count FROM sqlite_schema').get() as { count: number }).count,
      );
      if (tables > 0) throw foreign(p.file);
      database.exec(kind.schema);
      database.pragma(`application_id = ${kind.applicationId}`);
      database.pragma(`user_version = ${kind.schemaVersion}`);
    }
    database.exec('COMMIT');
  } catch (error) {
    if (database.inTransaction) database.exec('ROLLBACK');
    throw error;
  }
}

function checkHead(
  file: FileOf,
  kind: FileKind,
  head: { applicationId: number; version: number; readOnly: boolean },
): void {
  if (head.applicationId !== 0 && head.applicationId !== kind.applicationId) throw foreign(file);
  if (head.applicationId === 0 && (head.version !== 0 || head.readOnly)) throw foreign(file);
  if (head.version > kind.schemaVersion) {
    throw fileError(file, {
      code: 'version_newer',
      message: `${file.path} was written by a newer chargeair (format ${head.version}; this one reads up to ${kind.schemaVersion}). Update chargeair, or name another file.`,
    });
  }
}

function foreign(file: FileOf) {
  return fileError(file, {
    code: 'foreign',
    message: `${file.path} is an SQLite file of something else, not a chargeair ${file.port}. Name another file; this one was left as it is.`,
  });
}

function createSqliteFile(of: FileOf, database: SqliteDatabase, leaveWal: boolean): SqliteFile {
  let transactions = 0;
  let open = true;
  const guard = <T>(doing: string, work: () => T): T => {
    if (!open) throw fileError(of, { code: 'closed', message: `Could not ${doing} ${of.path}: it has been closed.` });
    try {
      return work();
    } catch (error) {
      throw asPortError(of, doing, error);
    }
  };
  return {
    ...of,
    database,
    prepare: (sql) => guard('read', () => database.prepare(sql)),
    guard,
    transaction: (doing, work) =>
      guard(doing, () => {
        database.exec('BEGIN IMMEDIATE');
        let result: ReturnType<typeof work>;
        try {
          result = work();
          database.exec('COMMIT');
        } catch (error) {
          // SQLite itself rolls back on some failures, such as a full disk.
          if (database.inTransaction) database.exec('ROLLBACK');
          throw error;
        }
        transactions += 1;
        if (!leaveWal && transactions % WAL_CHECK_EVERY_TRANSACTIONS === 0) foldWalBack(of, database);
        return result;
      }),
    close: () => {
      if (!open) return;
      guard('close', () => database.close());
      open = false;
    },
  };
}

/**
 * Folds a large write-ahead file back into the database and cuts it to nothing. Does not wait for readers: when one is
 * in the way, the next turn does it. The transaction before is durable already, so a failure here is not one of it.
 */
function foldWalBack(of: FileOf, database: SqliteDatabase): void {
  const wal = statSync(`${of.path}-wal`, { throwIfNoEntry: false });
  if (wal === undefined || wal.size < WAL_LIMIT_BYTES) return;
  database.pragma('busy_timeout = 0');
  try {
    database.pragma('wal_checkpoint(TRUNCATE)');
  } catch (error) {
    // The step is safe in the write-ahead file all the same; a disk that fails or is full stops the next write.
    if (sqliteCode(error) === undefined) throw error;
  } finally {
    database.pragma(`busy_timeout = ${BUSY_TIMEOUT_MS}`);
  }
}

/** Rows of a statement, whose shape its SQL guarantees. */
export function rowsOf<Row>(statement: Statement, ...values: SqlValue[]): Row[] {
  return statement.all(...values) as Row[];
}

/** The first row of a statement, whose shape its SQL guarantees, or `undefined`. */
export function rowOf<Row>(statement: Statement, ...values: SqlValue[]): Row | undefined {
  return statement.get(...values) as Row | undefined;
}
