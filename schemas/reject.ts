import { z } from 'zod';

/**
 * Why something was refused. A code never changes its meaning; `reject-codes.md` lists each with cause and remedy,
 * and a test compares the two lists.
 */
export const REJECT_CODES = [
  'field_missing',
  'field_count',
  'header_missing',
  'header_repeated',
  'column_missing',
  'column_repeated',
  'line_too_long',
  'quote_open',
  'quote_misplaced',
  'number_unreadable',
  'time_unreadable',
  'time_skipped',
  'zone_unknown',
  'unit_unknown',
  'signal_unknown',
  'reference_unusable',
  'unit_not_in_fleet',
  'value_out_of_range',
  'clock_ahead',
  'clock_before_fleet',
  'frame_unreadable',
  'frame_too_long',
  'transport_incomplete',
  'file_truncated',
  'encoding_unreadable',
  'version_unknown',
  'record_unreadable',
] as const;

export type RejectCode = (typeof REJECT_CODES)[number];

export const rejectSchema = z.strictObject({
  code: z.enum(REJECT_CODES),
  /** The column, signal or field that is wrong; empty when the whole row is. */
  field: z.string(),
  /** One sentence: what is wrong and how to mend it. */
  detail: z.string(),
});

/** One refusal: a stable code, the field it is about, and a sentence for a person. */
export type Reject = z.infer<typeof rejectSchema>;

/** The outcome of reading something from outside: the value, or why there is none. Never an exception. */
export type Checked<T> = { readonly ok: true; readonly value: T } | { readonly ok: false; readonly reject: Reject };

/** A successful {@link Checked}. */
export function accept<T>(value: T): Checked<T> {
  return { ok: true, value };
}

/** A refused {@link Checked}. `field` is empty when the whole row or record is wrong. */
export function refuse(
  code: RejectCode,
  field: string,
  detail: string,
): { readonly ok: false; readonly reject: Reject } {
  return { ok: false, reject: { code, field, detail } };
}
