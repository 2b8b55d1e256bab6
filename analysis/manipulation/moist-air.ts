import { dewPointC, saturationPressureKpa } from './saturation-pressure.ts';

/** Molar mass of water over that of dry air (ASHRAE Fundamentals 2017, chapter 1, equation 20). */
export const WATER_TO_AIR_MOLAR_MASS_RATIO = 0.621945;

/** State of ambient or intake air. */
export type AirState = {
  /** Air temperature, °C. */
  readonly temperatureC: number;
  /** Relative humidity as a fraction, 0 to 1. */
  readonly relativeHumidityRatio: number;
  /** Total pressure, kPa absolute. */
  readonly pressureAbsKpa: number;
};

/**
 * Partial pressure of the water vapour in kPa.
 *
 * @param p.temperatureC - Air temperature, °C, -100 to 200.
 * @param p.relativeHumidityRatio - Fraction, 0 to 1.
 * @returns `undefined` outside these ranges.
 */
export function vapourPressureKpa(p: { temperatureC: number; relativeHumidityRatio: number }): number | undefined {
  const saturationKpa = saturationPressureKpa(p.temperatureC);
  if (saturationKpa === undefined || !(p.relativeHumidityRatio >= 0 && p.relativeHumidityRatio <= 1)) return undefined;
  return p.relativeHumidityRatio * saturationKpa;
}

/**
 * Mass of vapour per mass of dry air, from the vapour's partial pressure: `0.621945 pv / (p - pv)`.
 *
 * @returns kg per kg of dry air; `undefined` when the vapour would fill the whole pressure (boiling).
 */
export function humidityRatioOfVapour(p: { vapourPressureKpa: number; pressureAbsKpa: number }): number | undefined {
  const dryKpa = p.pressureAbsKpa - p.vapourPressureKpa;
  if (!(dryKpa > 0 && p.vapourPressureKpa >= 0)) return undefined;
  return (WATER_TO_AIR_MOLAR_MASS_RATIO * p.vapourPressureKpa) / dryKpa;
}

/**
 * Mass of vapour per mass of dry air of an air state, as an ideal mixture.
 *
 * Air at 1 bar dissolves 0.4 to 0.6 % more vapour than the ideal mixture; that is left out.
 *
 * @returns kg per kg of dry air; `undefined` outside the ranges of {@link vapourPressureKpa}, or when the water would boil.
 * @see ASHRAE Fundamentals 2017, chapter 1, equation 20.
 */
export function humidityRatio(state: AirState): number | undefined {
  const vapourKpa = vapourPressureKpa(state);
  if (vapourKpa === undefined) return undefined;
  return humidityRatioOfVapour({ vapourPressureKpa: vapourKpa, pressureAbsKpa: state.pressureAbsKpa });
}

/**
 * Partial pressure in kPa of the vapour in air of this humidity ratio, at any total pressure. Compression keeps the
 * humidity ratio, so the vapour pressure rises with the total ABSOLUTE pressure.
 *
 * @param p.humidityRatio - kg per kg of dry air, not below zero.
 * @param p.pressureAbsKpa - Total pressure, kPa absolute.
 * @param p.molarMassRatio - Molar mass of water over that of the dry gas; 0.621945 when left out.
 */
export function vapourPressureOfHumidityRatioKpa(p: {
  humidityRatio: number;
  pressureAbsKpa: number;
  molarMassRatio?: number;
}): number {
  return (p.humidityRatio * p.pressureAbsKpa) / ((p.molarMassRatio ?? WATER_TO_AIR_MOLAR_MASS_RATIO) + p.humidityRatio);
}

/**
 * Moles of water over all moles, of an air state.
 *
 * @returns `undefined` outside the ranges of {@link vapourPressureKpa} and when the water would boil.
 * @see 40 CFR 1065.645, equation 1065.645-3 and -5.
 */
export function waterMoleFraction(state: AirState): number | undefined {
  const vapourKpa = vapourPressureKpa(state);
  return vapourKpa !== undefined && vapourKpa < state.pressureAbsKpa ? vapourKpa / state.pressureAbsKpa : undefined;
}

/**
 * Partial pressure of the dry air in kPa: total less vapour. Power correction needs it.
 *
 * @returns `undefined` outside the ranges of {@link vapourPressureKpa} and when the water would boil.
 */
export function dryAirPressureKpa(state: AirState): number | undefined {
  const vapourKpa = vapourPressureKpa(state);
  return vapourKpa !== undefined && vapourKpa < state.pressureAbsKpa ? state.pressureAbsKpa - vapourKpa : undefined;
}

/**
 * Dew point in °C of air (frost point below 0.01 °C).
 *
 * @returns `undefined` for perfectly dry air and outside the ranges of {@link vapourPressureKpa}.
 */
export function airDewPointC(p: { temperatureC: number; relativeHumidityRatio: number }): number | undefined {
  const vapourKpa = vapourPressureKpa(p);
  return vapourKpa === undefined ? undefined : dewPointC(vapourKpa);
}
