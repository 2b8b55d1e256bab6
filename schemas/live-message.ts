import { z } from 'zod';
import { SIGNAL_KEYS, type SignalKey } from './signals.ts';

function bySignal<T extends z.ZodType>(schema: T): { readonly [K in SignalKey]: z.ZodOptional<T> } {
  return Object.fromEntries(SIGNAL_KEYS.map((key) => [key, schema.optional()])) as {
    readonly [K in SignalKey]: z.ZodOptional<T>;
  };
}

/** Milliseconds since 1970 UTC, or ISO 8601 with an offset. */
const timeSchema = z.union([z.int(), z.string()]);
const valueSchema = z.number().nullable();

/** Samples that a message holds at most; a longer run is cut in several messages, or sent as CSV. */
export const MESSAGE_SAMPLES_MAX = 2048;

/** What a source sends while it measures: a run of samples of one unit, or one reading. */
export const liveMessageSchema = z
  .strictObject({
    version: z.literal(1),
    /** Id of the unit in the fleet file. */
    unit: z.string().min(1).max(200),
    /** Who sends, for people who look for the cause of a refusal; who may send is settled by login or token. */
    source: z.string().max(200).optional(),
    /** Units of the numbers by signal, such as bar, psi, degF; left out, the canonical unit. */
    units: z.strictObject(bySignal(z.string().min(1).max(40))).optional(),
    /** What pressures are measured against; left out, the canonical reference of the signal. */
    references: z.strictObject(bySignal(z.enum(['gauge', 'absolute', 'differential']))).optional(),
    /** A run of samples in columns: as many values (or null) a signal as times. Or else `reading`. */
    samples: z
      .strictObject({
        t: z.array(timeSchema).max(MESSAGE_SAMPLES_MAX),
        signals: z.strictObject(bySignal(z.array(valueSchema).max(MESSAGE_SAMPLES_MAX))),
      })
      .optional(),
    /** What was read at one moment. Or else `samples`. */
    reading: z.strictObject({ t: timeSchema, signals: z.strictObject(bySignal(valueSchema)) }).optional(),
  })
  .superRefine((message, context) => {
    if ((message.samples === undefined) === (message.reading === undefined)) {
      context.addIssue({ code: 'custom', path: [], message: 'needs either samples or reading' });
    }
    for (const [key, values] of Object.entries(message.samples?.signals ?? {})) {
      const times = message.samples?.t.length ?? 0;
      if (values !== undefined && values.length !== times) {
        context.addIssue({
          code: 'custom',
          path: ['samples', 'signals', key],
          message: `has ${values.length} values beside ${times} times; give one value (or null) a time`,
        });
      }
    }
  });

/** One value on a topic of its own: which unit and signal it is stands in the topic. */
export const liveReadingSchema = z.strictObject({
  t: timeSchema,
  value: valueSchema,
  /** Left out, what the topic's rule says, else the canonical unit. */
  unit: z.string().min(1).max(40).optional(),
  reference: z.enum(['gauge', 'absolute', 'differential']).optional(),
});
