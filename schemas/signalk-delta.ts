import { z } from 'zod';

const valueSchema = z.object({
  path: z.string(),
  /** A number in SI units for what is read here; texts, positions and `null` are passed over. */
  value: z.unknown(),
});

const updateSchema = z.object({
  /** RFC 3339, UTC. */
  timestamp: z.string().optional(),
  $source: z.string().optional(),
  source: z
    .object({
      label: z.string().optional(),
      type: z.string().optional(),
      src: z.union([z.string(), z.number()]).optional(),
      pgn: z.number().optional(),
    })
    .optional(),
  values: z.array(valueSchema).optional(),
});

/**
 * A Signal K delta message (Signal K specification, data model, delta format), as far as it is read here: further
 * fields, such as `meta`, are passed over.
 */
export const signalKDeltaSchema = z.object({
  /** Whose values they are; left out, the own vessel's. */
  context: z.string().optional(),
  updates: z.array(updateSchema),
});
export type SignalKDelta = z.infer<typeof signalKDeltaSchema>;
export type SignalKUpdate = SignalKDelta['updates'][number];

/** What a server says of itself before the first delta of a stream; `self` is the context of the own vessel. */
export const signalKHelloSchema = z.object({ version: z.string(), self: z.string().optional() });
