/** Thrown by {@link assert}: a bug of ours, never bad input and never a failing disk or network. */
export class AssertionError extends Error {
  override readonly name = 'AssertionError';
}

/**
 * Stops the program on a broken promise of our own code.
 *
 * @param condition - What must hold.
 * @param message - The promise that is broken, as a statement of what must hold.
 * @throws AssertionError when `condition` is false. Nobody catches it but the worker loop, which exits.
 */
export function assert(condition: boolean, message: string): asserts condition {
  if (!condition) throw new AssertionError(message);
}
