import Database from 'better-sqlite3';

/** A prepared statement: the part of the driver's that we use. */
export type Statement = {
  run(...values: SqlValue[]): { readonly changes: number; readonly lastInsertRowid: number | bigint };
  get(...values: SqlValue[]): unknown;
  all(...values: SqlValue[]): unknown[];
};

export type SqlValue = number | string | Uint8Array | null;

/** An open SQLite database: the part of the driver's that we use, so that the driver can be replaced in this file. */
export type SqliteDatabase = {
  readonly inTransaction: boolean;
  prepare(sql: string): Statement;
  exec(sql: string): unknown;
  pragma(source: string, options?: { readonly simple?: boolean }): unknown;
  close(): unknown;
};

/** Opens the file as it is, without any of our settings. Throws the driver's own errors. */
export function openDatabase(p: { path: string; readOnly: boolean; busyTimeoutMs: number }): SqliteDatabase {
  const database = new Database(p.path, { readonly: p.readOnly, fileMustExist: p.readOnly, timeout: p.busyTimeoutMs });
  return {
    get inTransaction() {
      return database.inTransaction;
    },
    prepare: (sql) => database.prepare<SqlValue[]>(sql),
    exec: (sql) => database.exec(sql),
    pragma: (source, options) => database.pragma(source, options),
    close: () => database.close(),
  };
}

/** The SQLite result code of an error such as SQLITE_FULL, or `undefined` when it is not from SQLite. */
export function sqliteCode(error: unknown): string | undefined {
  return error instanceof Database.SqliteError ? error.code : undefined;
}
