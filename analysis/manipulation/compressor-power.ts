import { DRY_AIR_GAS_CONSTANT_KJ_PER_KGK } from './air-density.ts';
import { airEnthalpyRiseKjPerKg } from './air-properties.ts';
import { kelvin } from './kelvin.ts';

/**
 * Specific heat capacity at constant pressure in kJ/(kg K) of a perfect gas: `R gamma / (gamma - 1)`.
 *
 * @param p.heatCapacityRatio - Ratio of specific heats, above 1.
 * @param p.gasConstantKjPerKgK - Dry air's when left out.
 * @returns `undefined` for a ratio not above 1.
 */
export function perfectGasHeatCapacityKjPerKgK(p: {
  heatCapacityRatio: number;
  gasConstantKjPerKgK?: number;
}): number | undefined {
  if (!(p.heatCapacityRatio > 1)) return undefined;
  return ((p.gasConstantKjPerKgK ?? DRY_AIR_GAS_CONSTANT_KJ_PER_KGK) * p.heatCapacityRatio) / (p.heatCapacityRatio - 1);
}

/**
 * Work in kJ that an ideal compressor takes per kg of gas.
 *
 * @param p.inletTemperatureC - °C.
 * @param p.pressureRatio - Outlet over inlet pressure, both absolute, above zero.
 * @param p.heatCapacityRatio - Ratio of specific heats, above 1.
 * @param p.gasConstantKjPerKgK - Dry air's when left out.
 * @returns `undefined` outside these ranges.
 */
export function isentropicWorkKjPerKg(p: {
  inletTemperatureC: number;
  pressureRatio: number;
  heatCapacityRatio: number;
  gasConstantKjPerKgK?: number;
}): number | undefined {
  const heatCapacity = perfectGasHeatCapacityKjPerKgK(p);
  const inletK = kelvin(p.inletTemperatureC);
  if (heatCapacity === undefined || !(p.pressureRatio > 0 && inletK > 0)) return undefined;
  return (
    heatCapacity * inletK * Math.expm1(((p.heatCapacityRatio - 1) / p.heatCapacityRatio) * Math.log(p.pressureRatio))
  );
}

/**
 * Power in kW that a compressor puts into the air, from the temperatures before and after it.
 *
 * @param p.airFlowKgPerS - kg/s, not below zero.
 * @param p.heatCapacityKjPerKgK - Held constant when given; left out, real air whose specific heat grows with temperature.
 * @param p.mechanicalEfficiency - Of the drive, above 0 to 1, to get the shaft power; 1 when left out.
 * @returns `undefined` for a flow below zero, an efficiency outside its range, and real air outside -73 to 727 °C.
 */
export function compressorPowerKw(p: {
  airFlowKgPerS: number;
  inletTemperatureC: number;
  outletTemperatureC: number;
  heatCapacityKjPerKgK?: number;
  mechanicalEfficiency?: number;
}): number | undefined {
  const mechanicalEfficiency = p.mechanicalEfficiency ?? 1;
  if (!(p.airFlowKgPerS >= 0 && mechanicalEfficiency > 0 && mechanicalEfficiency <= 1)) return undefined;
  const riseKjPerKg =
    p.heatCapacityKjPerKgK === undefined
      ? airEnthalpyRiseKjPerKg({ fromC: p.inletTemperatureC, toC: p.outletTemperatureC })
      : p.heatCapacityKjPerKgK * (p.outletTemperatureC - p.inletTemperatureC);
  return riseKjPerKg === undefined ? undefined : (p.airFlowKgPerS * riseKjPerKg) / mechanicalEfficiency;
}
