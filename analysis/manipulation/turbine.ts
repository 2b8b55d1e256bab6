import { celsius, kelvin } from './kelvin.ts';

/** Expansion of exhaust gas in a turbine. */
export type Expansion = {
  /** Turbine inlet temperature, °C. */
  readonly inletTemperatureC: number;
  /** Inlet over outlet pressure, both absolute: above 1 while the turbine works. */
  readonly expansionRatio: number;
  /** Ratio of specific heats of exhaust gas, about 1.33. */
  readonly heatCapacityRatio: number;
  /** Actual drop over isentropic drop, above 0 to 1. */
  readonly isentropicEfficiency: number;
};

/**
 * Temperature in °C after a turbine.
 *
 * @returns `undefined` for an expansion ratio below 1, a ratio of specific heats not above 1, or an efficiency outside 0 to 1.
 */
export function turbineOutletTemperatureC(p: Expansion): number | undefined {
  const dropK = turbineTemperatureDropK(p);
  return dropK === undefined ? undefined : celsius(kelvin(p.inletTemperatureC) - dropK);
}

/**
 * Fall of temperature over a turbine, K.
 *
 * @returns `undefined` where {@link turbineOutletTemperatureC} is.
 */
export function turbineTemperatureDropK(p: Expansion): number | undefined {
  const inletK = kelvin(p.inletTemperatureC);
  if (!(p.expansionRatio >= 1 && p.heatCapacityRatio > 1 && inletK > 0)) return undefined;
  if (!(p.isentropicEfficiency > 0 && p.isentropicEfficiency <= 1)) return undefined;
  const exponent = (p.heatCapacityRatio - 1) / p.heatCapacityRatio;
  return p.isentropicEfficiency * inletK * -Math.expm1(-exponent * Math.log(p.expansionRatio));
}

/**
 * Compressor power over turbine power of one rotor. In steady running it is the mechanical efficiency of the rotor, so a
 * falling share at steady boost is bearing drag, or a reading that is wrong.
 *
 * @param p.airFuelRatio - Mass of air per mass of fuel; the turbine also carries the fuel.
 * @param p.airRiseK - Temperature rise over the compressor, K.
 * @param p.airHeatCapacityKjPerKgK - About 1.005.
 * @param p.gasDropK - Temperature drop over the turbine, K.
 * @param p.gasHeatCapacityKjPerKgK - About 1.15.
 * @returns Dimensionless; `undefined` when the turbine gives no power or the air-fuel ratio is not above zero.
 */
export function compressorPowerShare(p: {
  airFuelRatio: number;
  airRiseK: number;
  airHeatCapacityKjPerKgK: number;
  gasDropK: number;
  gasHeatCapacityKjPerKgK: number;
}): number | undefined {
  const turbineKjPerKgAir = (1 + 1 / p.airFuelRatio) * p.gasHeatCapacityKjPerKgK * p.gasDropK;
  if (!(p.airFuelRatio > 0 && turbineKjPerKgAir > 0)) return undefined;
  return (p.airHeatCapacityKjPerKgK * p.airRiseK) / turbineKjPerKgAir;
}
