import { celsius } from './kelvin.ts';

// U.S. Standard Atmosphere 1976, tables 2 and 4: the constants of the standard itself, not today's values.
const SEA_LEVEL_K = 288.15;
const SEA_LEVEL_KPA = 101.325;
const LAPSE_K_PER_M = 6.5e-3;
const GRAVITY_M_PER_S2 = 9.80665;
const MOLAR_MASS_KG_PER_MOL = 0.0289644;
const GAS_CONSTANT_J_PER_MOL_K = 8.31432;
const EARTH_RADIUS_M = 6_356_766;
const EXPONENT = (GRAVITY_M_PER_S2 * MOLAR_MASS_KG_PER_MOL) / (GAS_CONSTANT_J_PER_MOL_K * LAPSE_K_PER_M);

/** Lowest and highest geopotential altitude of the layer with the lapse rate of 6.5 K/km, m. */
const LAYER_BOTTOM_M = -5000;
const LAYER_TOP_M = 11_000;

/** The standard atmosphere at one altitude. */
export type StandardAir = {
  readonly temperatureC: number;
  readonly pressureAbsKpa: number;
  readonly densityKgPerM3: number;
};

/**
 * Geopotential altitude in m of a height on a map: `r z / (r + z)`. Gravity falls with height, so 5000 m on the map are
 * 4996 m of geopotential.
 *
 * @param geometricAltitudeM - Height above mean sea level, m.
 * @see U.S. Standard Atmosphere 1976, equation 18.
 */
export function geopotentialAltitudeM(geometricAltitudeM: number): number {
  return (EARTH_RADIUS_M * geometricAltitudeM) / (EARTH_RADIUS_M + geometricAltitudeM);
}

/**
 * Temperature, absolute pressure and density of the standard atmosphere.
 *
 * A stand-in for a missing barometer, never a check of one: weather moves the barometer by up to about 4 %.
 *
 * @param p.geopotentialAltitudeM - Geopotential altitude, m; from a map height by {@link geopotentialAltitudeM}.
 * @returns `undefined` outside -5000 to 11 000 m, where the law of this layer does not hold.
 * @see U.S. Standard Atmosphere 1976, equations 23, 33a and 42.
 */
export function standardAtmosphere(p: { geopotentialAltitudeM: number }): StandardAir | undefined {
  if (!(p.geopotentialAltitudeM >= LAYER_BOTTOM_M && p.geopotentialAltitudeM <= LAYER_TOP_M)) return undefined;
  const temperatureK = SEA_LEVEL_K - LAPSE_K_PER_M * p.geopotentialAltitudeM;
  const pressureAbsKpa = SEA_LEVEL_KPA * (temperatureK / SEA_LEVEL_K) ** EXPONENT;
  const densityKgPerM3 = (pressureAbsKpa * 1000 * MOLAR_MASS_KG_PER_MOL) / (GAS_CONSTANT_J_PER_MOL_K * temperatureK);
  return { temperatureC: celsius(temperatureK), pressureAbsKpa, densityKgPerM3 };
}

/**
 * Geopotential altitude in m at which the standard atmosphere has this pressure.
 *
 * @param pressureAbsKpa - kPa absolute, above zero.
 * @returns `undefined` where the answer would lie outside -5000 to 11 000 m.
 */
export function pressureAltitudeM(pressureAbsKpa: number): number | undefined {
  if (!(pressureAbsKpa > 0)) return undefined;
  const altitudeM = (SEA_LEVEL_K / LAPSE_K_PER_M) * -Math.expm1(Math.log(pressureAbsKpa / SEA_LEVEL_KPA) / EXPONENT);
  return altitudeM >= LAYER_BOTTOM_M && altitudeM <= LAYER_TOP_M ? altitudeM : undefined;
}
