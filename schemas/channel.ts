import { z } from 'zod';

/**
 * The quantities that are held against an expectation. Each names its unit and what it is watched for.
 * `oilPressure` is conditioned on speed and oil temperature, the others on the load of the engine and its ambient.
 */
export const CHANNELS = {
  boost: { term: 'boost', unit: 'kPa' },
  chargeAirTemperature: { term: 'charge-air temperature after the cooler', unit: 'degC' },
  coolerApproach: { term: 'charge air above cooling medium', unit: 'K' },
  coolerEffectiveness: { term: 'charge-air cooler effectiveness', unit: '1' },
  coolerPressureDrop: { term: 'cooler pressure drop', unit: 'kPa' },
  filterPressureDrop: { term: 'air-filter pressure drop', unit: 'kPa' },
  compressorOutletTemperature: { term: 'compressor outlet temperature', unit: 'degC' },
  compressorEfficiency: { term: 'compressor isentropic efficiency', unit: '1' },
  exhaustTemperature: { term: 'exhaust temperature', unit: 'degC' },
  turbineOutletTemperature: { term: 'turbine outlet temperature', unit: 'degC' },
  turbineInletPressure: { term: 'exhaust manifold pressure', unit: 'kPa' },
  turbochargerSpeed: { term: 'turbocharger speed', unit: 'rpm' },
  actuator: { term: 'boost actuator position', unit: '%' },
  oilPressure: { term: 'oil pressure', unit: 'kPa' },
  turbochargerOilTemperature: { term: 'oil temperature at the turbocharger outlet', unit: 'degC' },
  crankcasePressure: { term: 'crankcase pressure', unit: 'kPa' },
} as const;

export type ChannelKey = keyof typeof CHANNELS;

export const CHANNEL_KEYS = Object.keys(CHANNELS) as readonly ChannelKey[];

export const channelKeySchema = z.enum(CHANNEL_KEYS as [ChannelKey, ...ChannelKey[]]);

/**
 * Whether a reading was held against the expectation:
 * `learning` while the expectation is being learnt, `outside` beyond the learnt envelope, `judged` otherwise,
 * `excluded` when a sensor it rests on is not believed.
 */
export const judgementSchema = z.enum(['learning', 'outside', 'judged', 'excluded']);

export const channelReadingSchema = z.strictObject({
  observed: z.number(),
  /** Expected value at this load, speed and air; absent while learning or outside the envelope. */
  expected: z.number().optional(),
  /** Standard deviation of `observed - expected` on a healthy engine, prediction variance included. */
  sd: z.number().positive().optional(),
  judgement: judgementSchema,
  /** Larger side of the two-sided CUSUM in standard deviations, signed: + up, - down. */
  cusum: z.number().optional(),
});

/** One channel at one operating point: observed against expected. */
export type ChannelReading = z.infer<typeof channelReadingSchema>;

export type ChannelReadings = { readonly [K in ChannelKey]?: ChannelReading | undefined };
