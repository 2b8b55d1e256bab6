import { z } from 'zod';

/** Work that resets an expectation, with the trade's words. */
export const MAINTENANCE_WORK = {
  cooler_washed: 'charge-air cooler washed or cleaned',
  cooler_replaced: 'charge-air cooler replaced',
  air_filter_changed: 'air filter changed',
  leak_sealed: 'air or exhaust leak sealed',
  turbocharger_replaced: 'turbocharger replaced or overhauled',
  compressor_washed: 'compressor washed',
  boost_control_repaired: 'boost control repaired or adjusted',
  oil_system_repaired: 'oil pump, relief valve, filter or line repaired',
  fuel_system_repaired: 'fuel system repaired or adjusted',
  sensor_replaced: 'sensor or wiring replaced',
  nothing_done: 'nothing replaced or repaired',
} as const;

export type MaintenanceWork = keyof typeof MAINTENANCE_WORK;

export const maintenanceWorkSchema = z.enum(Object.keys(MAINTENANCE_WORK) as [MaintenanceWork, ...MaintenanceWork[]]);

export const measurementSchema = z.strictObject({
  /** Id of the check of the task that asked for it. */
  check: z.string(),
  value: z.number(),
  unit: z.string(),
  state: z.string().optional(),
});

export const verdictSchema = z.strictObject({
  version: z.literal(1),
  task: z.string(),
  unit: z.string(),
  atMs: z.int(),
  who: z.string().min(1),
  /** Id of the confirmed cause, or `none_found`. */
  found: z.string().min(1),
  /** ISO 14224 failure mode and mechanism, where the fitter gave them. */
  failureMode: z.string().optional(),
  failureMechanism: z.string().optional(),
  work: z.array(maintenanceWorkSchema),
  /** For work on a sensor: which signals it touched. */
  signals: z.array(z.string()).optional(),
  measurements: z.array(measurementSchema),
  note: z.string(),
});

/** What the fitter found and did: it resets the right expectation and teaches the priors. */
export type Verdict = z.infer<typeof verdictSchema>;
