import { z } from 'zod';
import { SIGNAL_KEYS, type SignalKey } from './signals.ts';

const columnSchema = z.strictObject({
  /** Header of the column, or in a long file the name of the channel. */
  column: z.string().min(1),
  /** Unit of the numbers in the file, such as bar, psi, degF; left out, the canonical unit. */
  unit: z.string().min(1).optional(),
  /** What a pressure in the file is measured against; left out, the canonical reference of the signal. */
  reference: z.enum(['gauge', 'absolute', 'differential']).optional(),
});

const columnsSchema = z.strictObject(
  Object.fromEntries(SIGNAL_KEYS.map((key) => [key, columnSchema.optional()])) as {
    readonly [K in SignalKey]: z.ZodOptional<typeof columnSchema>;
  },
);

const timeSchema = z.strictObject({
  /** Header of the time column. */
  column: z.string().min(1),
  /**
   * iso8601, epoch_seconds, epoch_milliseconds, seconds_since_start,
   * or a pattern of YYYY MM DD HH mm ss SSS such as "DD.MM.YYYY HH:mm:ss".
   */
  format: z.string().min(1).default('iso8601'),
  /** IANA zone of times without an offset; left out, UTC. */
  timeZone: z.string().optional(),
  /** For seconds_since_start: when the log began, with offset. */
  startsAt: z.iso.datetime({ offset: true }).optional(),
});

const ruleBase = {
  id: z.string().min(1),
  /** File names it applies to; * stands for any run of characters. Compared with the name without its folder. */
  files: z.string().min(1),
};

export const csvRuleSchema = z.strictObject({
  ...ruleBase,
  format: z.enum(['csv_wide', 'csv_long']),
  /** The unit of every row. Or name a column that holds it. */
  unit: z.string().optional(),
  unitColumn: z.string().optional(),
  delimiter: z.enum([',', ';', '\t', '|']).default(','),
  decimal: z.enum(['.', ',']).default('.'),
  /** Lines above the header that hold no table. */
  skipLines: z.int().nonnegative().default(0),
  /** Texts that mean "not available", beside the empty field. */
  notAvailable: z.array(z.string()).default([]),
  time: timeSchema,
  /** Long files: the column that names the channel, and the one with the number. */
  channelColumn: z.string().optional(),
  valueColumn: z.string().optional(),
  columns: columnsSchema,
});
export type CsvRule = z.infer<typeof csvRuleSchema>;

export const j1939RuleSchema = z.strictObject({
  ...ruleBase,
  format: z.literal('j1939_candump'),
  unit: z.string().min(1),
  /** Source address of the engine's controller. */
  sourceAddress: z.int().min(0).max(253).default(0),
  /** Interface name in the log, where it holds several. */
  interface: z.string().optional(),
  /** For logs whose times count from the first frame: when the log began, with offset. */
  startsAt: z.iso.datetime({ offset: true }).optional(),
  /** References that differ from the standard, such as an engine that sends absolute pressure as SPN 1127. */
  references: z.partialRecord(z.enum(['boostPressure']), z.enum(['gauge', 'absolute'])).optional(),
});
export type J1939Rule = z.infer<typeof j1939RuleSchema>;

export const sourceRuleSchema = z.discriminatedUnion('format', [csvRuleSchema, j1939RuleSchema]);

/** How a file is recognised and read: whose it is, its form, its columns with their units and references. */
export type SourceRule = z.infer<typeof sourceRuleSchema>;
