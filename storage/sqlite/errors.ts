import { PortError } from '../port-error.ts';
import { sqliteCode } from './driver.ts';

/** Which port a database file serves, and where it is; every error names both. */
export type FileOf = { readonly port: 'log' | 'history'; readonly path: string };

/** One way a database file can fail: its code, what is wrong, and how to mend it. `retryable` as in {@link PortError}. */
type Failure = { readonly code: string; readonly what: string; readonly mend: string; readonly retryable: boolean };

// Result codes by their beginning, as SQLite's extended codes add to the primary ones: https://www.sqlite.org/rescode.html
const FAILURES: readonly (readonly [prefix: string, failure: Failure])[] = [
  [
    'SQLITE_FULL',
    {
      code: 'disk_full',
      what: 'there is no room left to write',
      mend: 'Free some space on that disk.',
      retryable: true,
    },
  ],
  [
    'SQLITE_BUSY',
    {
      code: 'busy',
      what: 'another process holds it',
      mend: 'It is tried again; if this stays, look for a second chargeair or a tool that has the file open.',
      retryable: true,
    },
  ],
  ['SQLITE_LOCKED', { code: 'busy', what: 'it is locked', mend: 'Try again.', retryable: true }],
  [
    'SQLITE_READONLY',
    {
      code: 'read_only',
      what: 'it may not be written',
      mend: 'Give this user the right to write to the file and its folder.',
      retryable: false,
    },
  ],
  [
    'SQLITE_PERM',
    {
      code: 'read_only',
      what: 'it may not be accessed',
      mend: 'Give this user the right to read and write the file and its folder.',
      retryable: false,
    },
  ],
  [
    'SQLITE_CANTOPEN',
    {
      code: 'cannot_open',
      what: 'it cannot be opened',
      mend: 'Check that the path is a file, that its folder exists, and that this user may write there.',
      retryable: false,
    },
  ],
  [
    'SQLITE_CORRUPT',
    {
      code: 'corrupt',
      what: 'it is damaged',
      mend: 'Stop chargeair, keep the damaged file, and put back a copy.',
      retryable: false,
    },
  ],
  [
    'SQLITE_NOTADB',
    {
      code: 'corrupt',
      what: 'it is not an SQLite file, or its beginning is damaged',
      mend: 'Check the path, or put back a copy.',
      retryable: false,
    },
  ],
  [
    'SQLITE_IOERR',
    {
      code: 'io',
      what: 'the disk failed to read or write it',
      mend: 'Check the disk and its connection.',
      retryable: false,
    },
  ],
  [
    'SQLITE_TOOBIG',
    {
      code: 'too_big',
      what: 'a record is too large for it',
      mend: 'Make the blocks or states smaller.',
      retryable: false,
    },
  ],
];

/**
 * Turns a failure of SQLite into the port's own error; everything else is a bug of ours and comes back as it is.
 *
 * @param doing - What was being done, as in "write a step to".
 */
export function asPortError(file: FileOf, doing: string, error: unknown): unknown {
  const sqlite = sqliteCode(error);
  if (sqlite === undefined) return error;
  const failure = FAILURES.find(([prefix]) => sqlite.startsWith(prefix))?.[1];
  return fileError(file, {
    code: failure?.code ?? 'failed',
    message:
      failure === undefined
        ? `Could not ${doing} ${file.path}: SQLite says ${sqlite}, ${messageOf(error)}.`
        : `Could not ${doing} ${file.path}: ${failure.what} (${sqlite}). ${failure.mend}`,
    retryable: failure?.retryable ?? false,
    cause: error,
  });
}

/** A {@link PortError} about a file, from a code and a sentence. */
export function fileError(
  file: FileOf,
  p: { code: string; message: string; retryable?: boolean; cause?: unknown },
): PortError {
  return new PortError({
    port: file.port,
    code: p.code,
    message: p.message,
    retryable: p.retryable ?? false,
    cause: p.cause,
  });
}

/** The message of an error, or the thing itself as text. */
export function messageOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}
