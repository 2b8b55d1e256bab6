/** Zero of the Celsius scale in kelvin, exact by definition of the scale (SI brochure, 9th ed., section 2.3.1). */
const ZERO_CELSIUS_K = 273.15;

/** Thermodynamic temperature in K of a Celsius temperature. */
export function kelvin(temperatureC: number): number {
  return temperatureC + ZERO_CELSIUS_K;
}

/** Celsius temperature in °C of a thermodynamic temperature. */
export function celsius(temperatureK: number): number {
  return temperatureK - ZERO_CELSIUS_K;
}
