import { z } from 'zod';
import { assert } from './assert.ts';
import { SIGNAL_KEYS, type SignalKey } from './signals.ts';

const column = z.array(z.number().nullable());
const columns = Object.fromEntries(SIGNAL_KEYS.map((key) => [key, column.optional()])) as {
  readonly [K in SignalKey]: z.ZodOptional<typeof column>;
};

export const sampleBlockSchema = z
  .strictObject({
    version: z.literal(1),
    unit: z.string().min(1),
    /** Rule of the fleet file that brought it, so that a reading can be followed back. */
    source: z.string().min(1),
    /** Observed times, ms since 1970 UTC, strictly rising. */
    t: z.array(z.int()),
    /** One array a signal, as long as `t`, in canonical units; `null` where not available. */
    signals: z.strictObject(columns),
    /** Active trouble codes of the engine's own diagnosis seen in this run of samples, newest state. */
    troubleCodes: z
      .array(z.strictObject({ spn: z.int(), fmi: z.int(), count: z.int(), sourceAddress: z.int() }))
      .optional(),
  })
  .superRefine((block, context) => {
    for (const [key, values] of Object.entries(block.signals)) {
      if (values !== undefined && values.length !== block.t.length) {
        context.addIssue({
          code: 'custom',
          path: ['signals', key],
          message: `has ${values.length} values beside ${block.t.length} times; give one value (or null) a time`,
        });
      }
    }
    for (let i = 1; i < block.t.length; i += 1) {
      if ((block.t[i] ?? 0) <= (block.t[i - 1] ?? 0)) {
        context.addIssue({
          code: 'custom',
          path: ['t', i],
          message: 'is not later than the time before it; sort the samples',
        });
        break;
      }
    }
  });

/**
 * A run of samples of one unit, in columns. Columns keep decoding, the log and the analysis cheap; a single reading is
 * a block of one. Times strictly rise and every column is as long as `t`.
 */
export type SampleBlock = {
  readonly version: 1;
  readonly unit: string;
  readonly source: string;
  readonly t: readonly number[];
  readonly signals: { readonly [K in SignalKey]?: readonly (number | null)[] | undefined };
  readonly troubleCodes?: readonly TroubleCode[] | undefined;
};

/** One active trouble code: SAE J1939-73 suspect parameter number, failure mode identifier, occurrence count. */
export type TroubleCode = {
  readonly spn: number;
  readonly fmi: number;
  readonly count: number;
  readonly sourceAddress: number;
};

/** Longest block that ingest writes; keeps every batch, and so the memory of every worker, bounded. */
export const MAX_BLOCK_SAMPLES = 2048;

/**
 * Checks what must hold of every block inside the pipeline; cheap enough for both sides of the log.
 *
 * @throws AssertionError when a column's length differs from `t`'s: a bug of the writer.
 */
export function assertBlock(block: SampleBlock): void {
  for (const key in block.signals) {
    const values = block.signals[key as SignalKey];
    assert(values === undefined || values.length === block.t.length, `column ${key} is as long as the times`);
  }
}
