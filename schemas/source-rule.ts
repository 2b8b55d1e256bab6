import { z } from 'zod';
import { SIGNAL_KEYS, type SignalKey } from './signals.ts';

const signalKeySchema = z.enum(SIGNAL_KEYS as [SignalKey, ...SignalKey[]]);

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

const engineUnitSchema = z.string().min(1);
const boostReferenceSchema = z.partialRecord(z.enum(['boostPressure']), z.enum(['gauge', 'absolute'])).optional();

const n2kSensorSchema = z.strictObject({
  /** The signal it gives; a pressure must be measured against the reference of that signal. */
  signal: signalKeySchema,
  /** Whose it is, where the message does not say; left out, every engine of the rule has it. */
  unit: z.string().min(1).optional(),
  /** Message, address of its sender, instance and source (130312: 0 sea, 1 outside ...); what is left out may be any. */
  pgn: z.int().positive().optional(),
  sender: z.int().min(0).max(253).optional(),
  instance: z.int().min(0).max(255).optional(),
  source: z.int().min(0).max(255).optional(),
});

export const n2kRuleSchema = z.strictObject({
  ...ruleBase,
  /** n2k_frames: TIME,PRIORITY,PGN,SOURCE,DESTINATION,LENGTH,bytes. n2k_candump: the text log of a CAN interface. */
  format: z.enum(['n2k_frames', 'n2k_candump']),
  /** Which unit each engine instance is, such as 0: ferry-port-main. Others are counted and not read. */
  engines: z.record(
    z.string().regex(/^(\d|[1-9]\d|1\d\d|2[0-4]\d|25[0-2])$/, 'is no engine instance; write 0 to 252'),
    engineUnitSchema,
  ),
  /** Which senders give a signal, best first. A signal named here is read from these alone. */
  sensors: z.array(n2kSensorSchema).default([]),
  /** Signals not to be read, such as the sea temperature of a sender that is wired to something else. */
  leaveOut: z.array(signalKeySchema).default([]),
  /** Candump logs: interface name, where the log holds several. */
  interface: z.string().optional(),
  /** Candump logs whose times count from the first frame: when the log began, with offset. */
  startsAt: z.iso.datetime({ offset: true }).optional(),
  /** What the boost of these engines is measured against; left out, gauge. */
  references: boostReferenceSchema,
});
export type N2kRule = z.infer<typeof n2kRuleSchema>;

export const signalKRuleSchema = z.strictObject({
  ...ruleBase,
  format: z.literal('signalk_delta'),
  /** Which unit each engine is by its id in the paths, such as port: ferry-port-main for propulsion.port. */
  engines: z.record(z.string().regex(/^[^.]+$/, 'is no part of a path; write the id alone'), engineUnitSchema),
  /** Whose deltas are read; left out, those of the context in which an engine of the rule first speaks. */
  context: z.string().min(1).optional(),
  /** Which senders ($source) give a signal, best first. A signal named here is read from these alone. */
  senders: z.partialRecord(signalKeySchema, z.array(z.string().min(1)).min(1)).default({}),
  /** Signals not to be read. */
  leaveOut: z.array(signalKeySchema).default([]),
  /** What the boost of these engines is measured against; left out, gauge. */
  references: boostReferenceSchema,
});
export type SignalKRule = z.infer<typeof signalKRuleSchema>;

export const sourceRuleSchema = z.discriminatedUnion('format', [
  csvRuleSchema,
  j1939RuleSchema,
  n2kRuleSchema,
  signalKRuleSchema,
]);

/** How a file is recognised and read: whose it is, its form, its columns with their units and references. */
export type SourceRule = z.infer<typeof sourceRuleSchema>;

/** The units that a rule names, each once; a table whose rows name their unit has none. */
export function unitsOfRule(rule: SourceRule): readonly string[] {
  if ('unit' in rule) return rule.unit === undefined ? [] : [rule.unit];
  return 'engines' in rule ? [...new Set(Object.values(rule.engines))] : [];
}
