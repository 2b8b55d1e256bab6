import { z } from 'zod';
import { SIGNAL_KEYS, type SignalKey } from './signals.ts';

const summarySchema = z.strictObject({
  /** Robust mean over the window, canonical unit. */
  mean: z.number(),
  /** Standard deviation within the window, canonical unit. */
  sd: z.number().nonnegative(),
  count: z.int().positive(),
});

/** One signal over one window: robust mean, spread and how many samples it rests on. */
export type SignalSummary = z.infer<typeof summarySchema>;

export const operatingPointSchema = z.strictObject({
  version: z.literal(1),
  unit: z.string().min(1),
  /** First and last sample of the window, ms since 1970 UTC. The point is known by `toMs`. */
  fromMs: z.int(),
  toMs: z.int(),
  signals: z.strictObject(
    Object.fromEntries(SIGNAL_KEYS.map((key) => [key, summarySchema.optional()])) as {
      readonly [K in SignalKey]: z.ZodOptional<typeof summarySchema>;
    },
  ),
});

/** What an engine showed while its load and speed stood still: the unit of everything that is judged. */
export type OperatingPoint = {
  readonly version: 1;
  readonly unit: string;
  readonly fromMs: number;
  readonly toMs: number;
  readonly signals: { readonly [K in SignalKey]?: SignalSummary | undefined };
};
