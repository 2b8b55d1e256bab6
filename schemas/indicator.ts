import { z } from 'zod';

/** Derived quantities, with the unit each is given in. Names are the terms of heat-exchanger and turbomachinery texts. */
export const INDICATORS = {
  compressorPressureRatio: { term: 'compressor pressure ratio', unit: '1' },
  compressorIsentropicEfficiency: { term: 'compressor isentropic efficiency', unit: '1' },
  coolerEffectiveness: { term: 'charge-air cooler effectiveness', unit: '1' },
  coolerApproach: { term: 'charge air above cooling medium', unit: 'K' },
  coolerPressureDropCoefficient: { term: 'cooler pressure-drop coefficient', unit: '1/m4' },
  filterPressureDropCoefficient: { term: 'air-filter pressure-drop coefficient', unit: '1/m4' },
  airMassFlow: { term: 'air mass flow by speed-density', unit: 'kg/s' },
  chargeAirDensity: { term: 'charge-air density', unit: 'kg/m3' },
  chargeDewPointMargin: { term: 'charge air above its dew point', unit: 'K' },
} as const;

export type IndicatorKey = keyof typeof INDICATORS;

export const indicatorSchema = z.union([
  z.strictObject({
    value: z.number(),
    /** Standard uncertainty (JCGM 100), in the unit of the value. */
    standardUncertainty: z.number().nonnegative(),
    /** What it was computed from: signal keys, fleet-file facts, assumptions. */
    from: z.array(z.string()),
  }),
  z.strictObject({
    /** Why there is no value. */
    absent: z.string(),
  }),
]);

/** A derived quantity at an operating point with its standard uncertainty, or the reason why it is absent. */
export type Indicator = z.infer<typeof indicatorSchema>;

export const indicatorsSchema = z.partialRecord(
  z.enum(Object.keys(INDICATORS) as [IndicatorKey, ...IndicatorKey[]]),
  indicatorSchema,
);

export type Indicators = { readonly [K in IndicatorKey]?: Indicator | undefined };
