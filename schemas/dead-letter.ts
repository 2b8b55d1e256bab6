import { z } from 'zod';
import { REJECT_CODES } from './reject.ts';

export const deadLetterSchema = z.strictObject({
  version: z.literal(1),
  id: z.string(),
  /** Unit it was meant for, where that was known. */
  unit: z.string().nullable(),
  /** File name, topic or address it came from. */
  source: z.string(),
  format: z.string(),
  /** Line number counted from 1, or frame or message number. */
  position: z.int().nonnegative(),
  code: z.enum(REJECT_CODES),
  field: z.string(),
  detail: z.string(),
  /** The row or message as received, cut at 2,000 characters; bytes that are no text are written as \xNN. */
  raw: z.string(),
  receivedAtMs: z.int(),
});

/** Something that was refused: what, where it stood, why, and what would mend it. Kept until somebody deals with it. */
export type DeadLetter = z.infer<typeof deadLetterSchema>;
