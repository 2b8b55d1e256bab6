/** A file that cannot be loaded at all, in a sentence that says what, where and how to mend it. */
export class LoadError extends Error {
  override readonly name = 'LoadError';
  readonly code: LoadErrorCode;

  constructor(code: LoadErrorCode, message: string, options?: { cause?: unknown }) {
    super(message, options);
    this.code = code;
  }
}

/** Why a file cannot be loaded. */
export type LoadErrorCode =
  | 'no_rule'
  | 'rules_overlap'
  | 'unit_missing'
  | 'unit_unknown'
  | 'file_unreadable'
  | 'state_unreadable';
