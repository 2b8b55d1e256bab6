import { z } from 'zod';
import { SIGNAL_KEYS, SIGNALS, type SignalKey } from './signals.ts';

export const UNIT_KINDS = {
  road: 'heavy road vehicle',
  mobile_plant: 'off-road machine',
  vessel: 'vessel',
  generator: 'generator set',
} as const;

/**
 * Kinds of work, with the times that make an operating point: how long load and speed must have stood still before the
 * window opens (thermal lags), how long the window is, and how far apart the points of one long steady run are.
 * Common practice, no source.
 */
export const DUTIES = {
  long_haul: { term: 'long-haul road', settleSeconds: 60, windowSeconds: 90, spacingSeconds: 300 },
  regional: { term: 'regional road', settleSeconds: 60, windowSeconds: 60, spacingSeconds: 240 },
  city_bus: { term: 'city bus', settleSeconds: 20, windowSeconds: 30, spacingSeconds: 180 },
  tipper: { term: 'tipper and construction', settleSeconds: 30, windowSeconds: 40, spacingSeconds: 180 },
  excavator: { term: 'excavator', settleSeconds: 20, windowSeconds: 30, spacingSeconds: 180 },
  tug: { term: 'tug', settleSeconds: 180, windowSeconds: 300, spacingSeconds: 600 },
  inland_cargo: { term: 'inland cargo', settleSeconds: 300, windowSeconds: 600, spacingSeconds: 900 },
  ferry: { term: 'ferry', settleSeconds: 180, windowSeconds: 300, spacingSeconds: 600 },
  fishing: { term: 'fishing', settleSeconds: 300, windowSeconds: 600, spacingSeconds: 900 },
  generator: { term: 'generator set', settleSeconds: 180, windowSeconds: 300, spacingSeconds: 900 },
} as const;
export type Duty = keyof typeof DUTIES;

export const CHARGING = {
  single_stage: 'single stage',
  two_stage: 'two stages with intercooler and aftercooler',
  blower_scavenged: 'blower-scavenged two-stroke with turbocharger',
} as const;

export const BOOST_CONTROLS = {
  none: 'none, fixed turbine',
  wastegate: 'wastegate on boost pressure',
  electronic: 'electronically controlled wastegate',
  variable_geometry: 'variable geometry turbine',
} as const;

export const COOLERS = {
  air_to_air: 'air to air',
  engine_jacket_water: 'engine jacket water',
  separate_circuit: 'separate low-temperature water circuit',
  seawater: 'seawater',
} as const;

const keyOf = <T extends Record<string, unknown>>(table: T) =>
  z.enum(Object.keys(table) as [keyof T & string, ...(keyof T & string)[]]);

const sensorSchema = z.strictObject({
  /** What the sensor itself is measured against; only for pressures. */
  reference: z.enum(['gauge', 'absolute', 'differential']).optional(),
  /** Standard uncertainty in the canonical unit, from the sensor's class. */
  standardUncertainty: z.number().positive().optional(),
});

const curvePointSchema = z.strictObject({ speedRpm: z.number().nonnegative(), pressureKpa: z.number() });

export const limitsSchema = z.strictObject({
  /** Whose limits these are: manual, section, revision. */
  source: z.string().min(1),
  boostMaxKpa: z.number().positive().optional(),
  chargeAirTemperatureMaxC: z.number().optional(),
  exhaustTemperatureMaxC: z.number().optional(),
  /** Lowest oil pressure by speed, gauge; between two points it is read off the straight line. */
  oilPressureMin: z.array(curvePointSchema).min(1).optional(),
  filterPressureDropMaxKpa: z.number().positive().optional(),
  turbochargerSpeedMaxRpm: z.number().positive().optional(),
});

export const unitSchema = z.strictObject({
  id: z.string().regex(/^[a-z0-9][a-z0-9-]*$/, 'use small letters, digits and hyphens, such as truck-07'),
  name: z.string().min(1),
  kind: keyOf(UNIT_KINDS),
  duty: keyOf(DUTIES),
  place: z.string().min(1),
  engine: z.strictObject({
    ratedPowerKw: z.number().positive(),
    ratedSpeedRpm: z.number().positive(),
    idleSpeedRpm: z.number().positive().optional(),
    displacementL: z.number().positive(),
    strokes: z.union([z.literal(4), z.literal(2)]),
    charging: keyOf(CHARGING),
    boostControl: keyOf(BOOST_CONTROLS),
    cooler: keyOf(COOLERS),
  }),
  sensors: z.strictObject(
    Object.fromEntries(SIGNAL_KEYS.map((key) => [key, sensorSchema.optional()])) as {
      readonly [K in SignalKey]: z.ZodOptional<typeof sensorSchema>;
    },
  ),
  limits: limitsSchema,
  /** Relative weight of a cause before any evidence; 1 where nothing is said. */
  priors: z.record(z.string(), z.number().positive()).optional(),
});

/** One engine with its turbocharger and cooler, as the fleet file describes it. A ship's two engines are two units. */
export type Unit = z.infer<typeof unitSchema>;
export type Limits = z.infer<typeof limitsSchema>;

/** Standard uncertainty of a sensor: the fleet file's, else a common class for its kind (from memory, common practice). */
export function sensorUncertainty(unit: Unit, key: SignalKey): number {
  const stated = unit.sensors[key]?.standardUncertainty;
  if (stated !== undefined) return stated;
  switch (SIGNALS[key].unit) {
    case 'kPa':
      return SIGNALS[key].reference === 'differential' ? 0.15 : key === 'barometricPressure' ? 0.4 : 2;
    case 'degC':
      return key.startsWith('exhaust') || key.startsWith('turbine') ? 4 : 1;
    case 'rpm':
      return key === 'turbochargerSpeed' ? 200 : 2;
    default:
      return 1;
  }
}
