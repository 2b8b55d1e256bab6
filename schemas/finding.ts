import { z } from 'zod';
import { channelKeySchema } from './channel.ts';

export const FINDING_KINDS = {
  boost_shortfall: 'boost shortfall',
  overboost: 'overboost',
  charge_air_temperature_rise: 'charge-air temperature rise',
  cooler_fouling: 'cooler fouling',
  low_oil_pressure: 'low oil pressure',
  exhaust_temperature_high: 'exhaust temperature high',
  intake_restriction: 'intake restriction',
  compressor_efficiency_loss: 'compressor efficiency loss',
  sensor_fault: 'sensor fault',
} as const;

export type FindingKind = keyof typeof FINDING_KINDS;

export const findingKindSchema = z.enum(Object.keys(FINDING_KINDS) as [FindingKind, ...FindingKind[]]);

export const SEVERITIES = ['low', 'medium', 'high'] as const;
export const severitySchema = z.enum(SEVERITIES);
export type Severity = z.infer<typeof severitySchema>;

export const causeSchema = z.strictObject({
  /** Id of the fault-symptom matrix, `sensor_...`, or `unknown`. */
  cause: z.string(),
  probability: z.number().min(0).max(1),
});
export type Cause = z.infer<typeof causeSchema>;

export const causeGroupSchema = z.strictObject({
  /** Causes that the fitted signals cannot tell apart, most probable first. */
  causes: z.array(z.string()).min(1),
  probability: z.number().min(0).max(1),
});
export type CauseGroup = z.infer<typeof causeGroupSchema>;

const timeLeftSchema = z.strictObject({
  estimate: z.number(),
  lower: z.number(),
  upper: z.number(),
  confidence: z.number(),
});

export const limitSchema = z.strictObject({
  value: z.number(),
  unit: z.string(),
  /** Who set it, as the fleet file says. */
  source: z.string(),
  /** True when the limit has been passed. */
  exceeded: z.boolean(),
  /** Running hours until the limit, from the time of the finding, with its interval; absent where no slope carries one. */
  hoursToLimit: timeLeftSchema.optional(),
  /** The same in days of the calendar, by how many hours a week the unit was used while it was learnt. */
  daysToLimit: timeLeftSchema.optional(),
});
export type Limit = z.infer<typeof limitSchema>;

export const findingSchema = z.strictObject({
  version: z.literal(1),
  /** Derived from unit, kind, detector and onset, never from chance: a replay repeats it rather than doubling it. */
  id: z.string(),
  unit: z.string(),
  kind: findingKindSchema,
  detector: z.enum(['cusum', 'hard_limit', 'plausibility']),
  /** Estimated onset, ms since 1970 UTC. */
  sinceMs: z.int(),
  /** When it was first reported, and when this version of it was. */
  atMs: z.int(),
  updatedAtMs: z.int(),
  state: z.enum(['open', 'cleared']),
  severity: severitySchema,
  /** What departs: a channel, or for a sensor fault the signal. */
  subject: z.string(),
  evidence: z.strictObject({
    observed: z.number(),
    expected: z.number().optional(),
    /** Mean departure since the onset, in the subject's unit. */
    departure: z.number().optional(),
    departureStandardUncertainty: z.number().nonnegative().optional(),
    unit: z.string(),
    /** Operating points since the onset. */
    points: z.int().nonnegative(),
    /** Departures of all channels that were judged since the onset, in standard deviations. */
    pattern: z.partialRecord(channelKeySchema, z.number()),
    sentence: z.string(),
  }),
  causes: z.array(causeSchema),
  /** The same causes, those that cannot be told apart put together. */
  causeGroups: z.array(causeGroupSchema),
  /** Checks or sensors that would tell the leading causes apart, best first. */
  separatingChecks: z.array(z.string()),
  limit: limitSchema.optional(),
  /** The trouble codes that the engine's own diagnosis shows beside it. */
  troubleCodes: z.array(z.string()),
});

/** What departs on a unit, since when, how badly, why, and how long is left. Later versions carry the same id. */
export type Finding = z.infer<typeof findingSchema>;
