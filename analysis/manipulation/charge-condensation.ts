import { type AirState, humidityRatio, humidityRatioOfVapour, vapourPressureOfHumidityRatioKpa } from './moist-air.ts';
import { dewPointC, saturationPressureKpa } from './saturation-pressure.ts';

/**
 * Temperature in °C below which water falls out of the charge air. Cooler walls run colder than the mixed outlet air, so
 * drops may form a few kelvin above it.
 *
 * @param p.ambient - The air that the engine draws.
 * @param p.chargeAbsKpa - Charge pressure, kPa ABSOLUTE.
 * @returns `undefined` for perfectly dry air, and outside the ranges of `vapourPressureKpa`.
 */
export function chargeDewPointC(p: { ambient: AirState; chargeAbsKpa: number }): number | undefined {
  const ratio = humidityRatio(p.ambient);
  if (ratio === undefined || !(p.chargeAbsKpa > 0)) return undefined;
  return dewPointC(vapourPressureOfHumidityRatioKpa({ humidityRatio: ratio, pressureAbsKpa: p.chargeAbsKpa }));
}

/**
 * Water that falls out in the charge-air cooler, kg per kg of dry air: exactly 0 while the outlet is above the charge's
 * dew point.
 *
 * An ideal mixture: charge air holds about 1 % more vapour than that, so a first trickle below 0.0001 kg/kg is not certain.
 *
 * @param p.ambient - The air that the engine draws.
 * @param p.chargeAbsKpa - Charge pressure at the cooler outlet, kPa absolute.
 * @param p.outletTemperatureC - Charge-air temperature at the cooler outlet, °C.
 * @returns `undefined` outside the ranges of `vapourPressureKpa`.
 */
export function chargeCondensateKgPerKgDryAir(p: {
  ambient: AirState;
  chargeAbsKpa: number;
  outletTemperatureC: number;
}): number | undefined {
  const before = humidityRatio(p.ambient);
  const saturationKpa = saturationPressureKpa(p.outletTemperatureC);
  if (before === undefined || saturationKpa === undefined) return undefined;
  // Hotter than the boiling point, the air can hold any amount of vapour.
  if (saturationKpa >= p.chargeAbsKpa) return p.chargeAbsKpa > 0 ? 0 : undefined;
  const most = humidityRatioOfVapour({ vapourPressureKpa: saturationKpa, pressureAbsKpa: p.chargeAbsKpa });
  return most === undefined ? undefined : Math.max(0, before - most);
}
