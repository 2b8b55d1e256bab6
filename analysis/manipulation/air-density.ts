import { kelvin } from './kelvin.ts';
import { type AirState, vapourPressureKpa, WATER_TO_AIR_MOLAR_MASS_RATIO } from './moist-air.ts';

/** Specific gas constant of dry air in kJ/(kg K): 8.314 462 618 kJ/(kmol K) over 28.964 7 kg/kmol. */
export const DRY_AIR_GAS_CONSTANT_KJ_PER_KGK = 8.314462618 / 28.9647;

/**
 * Density of dry air in kg/m3 by the ideal-gas law. Within 0.3 % of real air up to 6 bar above 0 °C.
 *
 * @param p.pressureAbsKpa - kPa absolute.
 * @param p.temperatureC - °C.
 * @returns `undefined` when pressure or absolute temperature is not above zero.
 */
export function dryAirDensityKgPerM3(p: { pressureAbsKpa: number; temperatureC: number }): number | undefined {
  const temperatureK = kelvin(p.temperatureC);
  if (!(p.pressureAbsKpa > 0 && temperatureK > 0)) return undefined;
  return p.pressureAbsKpa / (DRY_AIR_GAS_CONSTANT_KJ_PER_KGK * temperatureK);
}

/**
 * Density of moist air in kg/m3, vapour included. Moist air is lighter than dry air: at 35 °C and 80 % by 1.7 %.
 *
 * @returns `undefined` outside the ranges of `vapourPressureKpa`, and when the water would boil.
 */
export function moistAirDensityKgPerM3(state: AirState): number | undefined {
  const vapourKpa = vapourPressureKpa(state);
  if (vapourKpa === undefined || vapourKpa >= state.pressureAbsKpa) return undefined;
  const pressureAsDryKpa = state.pressureAbsKpa - (1 - WATER_TO_AIR_MOLAR_MASS_RATIO) * vapourKpa;
  return dryAirDensityKgPerM3({ pressureAbsKpa: pressureAsDryKpa, temperatureC: state.temperatureC });
}

/**
 * Charge-air density over ambient density. The gas constant falls out.
 *
 * @returns Dimensionless; `undefined` when a pressure or an absolute temperature is not above zero.
 */
export function densityRatio(p: {
  ambientAbsKpa: number;
  ambientTemperatureC: number;
  chargeAbsKpa: number;
  chargeTemperatureC: number;
}): number | undefined {
  const ambientK = kelvin(p.ambientTemperatureC);
  const chargeK = kelvin(p.chargeTemperatureC);
  if (!(p.ambientAbsKpa > 0 && p.chargeAbsKpa > 0 && ambientK > 0 && chargeK > 0)) return undefined;
  return (p.chargeAbsKpa / p.ambientAbsKpa) * (ambientK / chargeK);
}
