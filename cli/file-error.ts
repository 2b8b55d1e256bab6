/** What to say in a certain case instead of the general sentence. */
export type FileErrorWords = { readonly missing?: string };

/**
 * A sentence about why a file or folder could not be used, with how to mend it, to be put after its name.
 *
 * @param error - As `node:fs` threw it.
 * @throws The error itself when it is none of the file system's: it is not ours to explain away.
 */
export function fileErrorSentence(error: unknown, words: FileErrorWords = {}): string {
  switch (fileErrorCode(error)) {
    case 'ENOENT':
      return words.missing ?? 'does not exist; check the name and the folder';
    case 'EISDIR':
      return 'is a folder; give a file';
    case 'ENOTDIR':
      return 'lies below a file, not a folder; check the name';
    case 'EACCES':
    case 'EPERM':
      return 'may not be used by this user; check who owns it and its permissions';
    case 'EROFS':
      return 'lies on a disk that cannot be written to; choose another folder';
    case 'ENOSPC':
      return 'could not be written: the disk is full; make room and run it again';
    case 'EEXIST':
      return 'exists already; choose another name';
    case undefined:
      throw error;
    default:
      return `could not be used (${fileErrorCode(error)})`;
  }
}

/** The system's code of a file error, such as ENOENT; `undefined` for anything that is no system error. */
export function fileErrorCode(error: unknown): string | undefined {
  if (!(error instanceof Error) || !('code' in error) || !('syscall' in error)) return undefined;
  return typeof error.code === 'string' ? error.code : undefined;
}
