/** POSIX exit codes of every command. */
export const EXIT = { ok: 0, refused: 1, usage: 2 } as const;

/** Ends a command with a sentence for the person who gave it; never a bug of ours, so never with a stack trace. */
export class CommandFault extends Error {
  override readonly name = 'CommandFault';
  readonly exitCode: number;

  /**
   * @param p.message - What is wrong, where, and how to mend it; one line a fault.
   * @param p.exitCode - Left out, {@link EXIT.refused}.
   */
  constructor(p: { message: string; exitCode?: number }) {
    super(p.message);
    this.exitCode = p.exitCode ?? EXIT.refused;
  }
}
