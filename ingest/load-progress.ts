import { z } from 'zod';
import type { RejectCode } from '../schemas/reject.ts';
import type { Tally } from './formats/decoder.ts';
import { LoadError } from './load-error.ts';

const tallySchema = z.record(z.string(), z.int().nonnegative());

const loadProgressSchema = z.strictObject({
  version: z.literal(1),
  file: z.string(),
  isDone: z.boolean(),
  /** Batches whose step is durable; a reader that starts again leaves them out. */
  batches: z.int().nonnegative(),
  rows: z.int().nonnegative(),
  accepted: z.int().nonnegative(),
  duplicates: z.int().nonnegative(),
  late: z.int().nonnegative(),
  rejected: tallySchema,
  rejectedValues: tallySchema,
  deadLetters: z.int().nonnegative(),
  units: z.array(z.string()),
});

/** How far a file has been loaded and what came of it so far. */
export type LoadProgress = Omit<z.infer<typeof loadProgressSchema>, 'rejected' | 'rejectedValues'> & {
  readonly rejected: Tally;
  readonly rejectedValues: Tally;
};

/** Before the first batch. */
export function initialProgress(file: string): LoadProgress {
  return {
    version: 1,
    file,
    isDone: false,
    batches: 0,
    rows: 0,
    accepted: 0,
    duplicates: 0,
    late: 0,
    rejected: {},
    rejectedValues: {},
    deadLetters: 0,
    units: [],
  };
}

/**
 * Reads stored progress back.
 *
 * @throws LoadError when it is damaged or of a newer program.
 */
export function decodeProgress(stored: unknown): LoadProgress {
  const parsed = loadProgressSchema.safeParse(stored);
  if (parsed.success) return parsed.data as LoadProgress;
  throw new LoadError(
    'state_unreadable',
    'What the log says of this file cannot be read; it is damaged or was written by a newer program. Use that program, or restore the log from its last copy.',
  );
}

/** Two tallies together. */
export function addTallies(a: Tally, b: Tally): Tally {
  const sum: Tally = { ...a };
  for (const [code, count] of Object.entries(b)) sum[code as RejectCode] = (sum[code as RejectCode] ?? 0) + count;
  return sum;
}

/** All counts of a tally. */
export function tallyTotal(tally: Tally): number {
  return Object.values(tally).reduce((sum, count) => sum + count, 0);
}
