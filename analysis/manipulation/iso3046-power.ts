/** Ambient conditions of a rating in the sense of ISO 3046-1. */
export type RatingConditions = {
  /** Total barometric pressure, kPa absolute. */
  readonly pressureAbsKpa: number;
  /** Air temperature, K. The standard's reference is 298 K exactly, not 298.15 K. */
  readonly temperatureK: number;
  /** Relative humidity, fraction; only counts when the humidity factor is not 0. */
  readonly relativeHumidityRatio?: number;
  /** Saturation pressure of water at `temperatureK`, kPa; only counts when the humidity factor is not 0. */
  readonly saturationPressureKpa?: number;
  /** Charge-air coolant temperature at the cooler inlet, K; only counts when its exponent is not 0. */
  readonly coolantTemperatureK?: number;
};

/** Factor and exponents of ISO 3046-1, table 2, for one kind of engine. */
export type AdjustmentExponents = {
  /** `a`: how much of the vapour pressure counts. */
  readonly humidityFactor: number;
  /** `m`: exponent of the pressures. */
  readonly pressureExponent: number;
  /** `n`: exponent of the air temperatures. */
  readonly temperatureExponent: number;
  /** `s`: exponent of the coolant temperatures. */
  readonly coolantExponent: number;
};

/** Exponents seen in published worked examples of ISO 3046-1; look the standard up before declaring a power by them. */
export const ADJUSTMENT_EXPONENTS = {
  naturallyAspirated: { humidityFactor: 1, pressureExponent: 1, temperatureExponent: 0.75, coolantExponent: 0 },
  turbocharged: { humidityFactor: 0, pressureExponent: 0.7, temperatureExponent: 2, coolantExponent: 0 },
  turbochargedAndCooled: { humidityFactor: 0, pressureExponent: 0.7, temperatureExponent: 1.2, coolantExponent: 1 },
} as const satisfies Record<string, AdjustmentExponents>;

/** ISO 3046-1 reference conditions: 100 kPa, 298 K, 30 %, charge-air coolant 298 K; saturation 3.2 kPa as its examples take it. */
export const ISO_3046_REFERENCE: RatingConditions = {
  pressureAbsKpa: 100,
  temperatureK: 298,
  relativeHumidityRatio: 0.3,
  saturationPressureKpa: 3.2,
  coolantTemperatureK: 298,
};

/**
 * Ratio of indicated power `k` between two conditions:
 * `((px - a phix psx) / (pr - a phir psr))^m (Tr/Tx)^n (Tcr/Tcx)^s`.
 *
 * @param p.site - Conditions at which the power is wanted.
 * @param p.reference - Conditions of the declared power, or the standard's substitute reference conditions.
 * @returns `undefined` when humidity or coolant counts but is not given, or a pressure or temperature is not above zero.
 * @see ISO 3046-1, clause 10.
 */
export function indicatedPowerRatio(p: {
  site: RatingConditions;
  reference: RatingConditions;
  exponents: AdjustmentExponents;
}): number | undefined {
  const { site, reference, exponents } = p;
  const sitePressure = countedPressureKpa(site, exponents.humidityFactor);
  const referencePressure = countedPressureKpa(reference, exponents.humidityFactor);
  const coolantRatio =
    exponents.coolantExponent === 0 ? 1 : quotient(reference.coolantTemperatureK, site.coolantTemperatureK);
  const temperatureRatio = quotient(reference.temperatureK, site.temperatureK);
  const pressureRatio = quotient(sitePressure, referencePressure);
  if (pressureRatio === undefined || temperatureRatio === undefined || coolantRatio === undefined) return undefined;
  return (
    pressureRatio ** exponents.pressureExponent *
    temperatureRatio ** exponents.temperatureExponent *
    coolantRatio ** exponents.coolantExponent
  );
}

/**
 * Power adjustment factor `alpha = k - 0.7 (1 - k) (1/eta_m - 1)`: reference power times it is the power at site.
 *
 * @param p.indicatedPowerRatio - `k` of {@link indicatedPowerRatio}.
 * @param p.mechanicalEfficiency - Of the engine, above 0 to 1; 0.8 when nothing is known (ISO 3046-1).
 * @returns `undefined` for an efficiency outside its range or when no power is left.
 */
export function powerAdjustmentFactor(p: {
  indicatedPowerRatio: number;
  mechanicalEfficiency: number;
}): number | undefined {
  if (!(p.mechanicalEfficiency > 0 && p.mechanicalEfficiency <= 1)) return undefined;
  const factor = p.indicatedPowerRatio - 0.7 * (1 - p.indicatedPowerRatio) * (1 / p.mechanicalEfficiency - 1);
  return factor > 0 ? factor : undefined;
}

/**
 * Fuel consumption factor `beta = k / alpha`: reference specific fuel consumption times it is the one at site.
 *
 * @returns `undefined` where {@link powerAdjustmentFactor} is.
 */
export function fuelAdjustmentFactor(p: {
  indicatedPowerRatio: number;
  mechanicalEfficiency: number;
}): number | undefined {
  const alpha = powerAdjustmentFactor(p);
  return alpha === undefined ? undefined : p.indicatedPowerRatio / alpha;
}

function countedPressureKpa(conditions: RatingConditions, humidityFactor: number): number | undefined {
  if (humidityFactor === 0) return conditions.pressureAbsKpa;
  const { relativeHumidityRatio, saturationPressureKpa } = conditions;
  if (relativeHumidityRatio === undefined || saturationPressureKpa === undefined) return undefined;
  return conditions.pressureAbsKpa - humidityFactor * relativeHumidityRatio * saturationPressureKpa;
}

function quotient(upper: number | undefined, lower: number | undefined): number | undefined {
  return upper !== undefined && lower !== undefined && upper > 0 && lower > 0 ? upper / lower : undefined;
}
