import { airEnthalpyRiseKjPerKg } from './air-properties.ts';
import { type Compression, isentropicOutletTemperatureC } from './compressor-temperature.ts';

// Near a pressure ratio of 1 both rises tend to zero and their quotient to noise: 1 K on a sensor is then worth more than
// the whole rise. A quotient well above 1 is a heat-soaked inlet or a wrong sensor, not an efficiency. Common practice, no source.
const LEAST_PRESSURE_RATIO = 1.05;
const LEAST_RISE_K = 2;
const MOST_EFFICIENCY = 1.2;

/**
 * Isentropic efficiency of a compressor: isentropic rise over actual rise, of temperature with a constant ratio of specific
 * heats, of enthalpy with real air (constant 1.4 overstates it by up to 0.8 % of its value at a pressure ratio of 2.5).
 *
 * Strictly needs total temperatures and pressures at both ends; with static readings follow its change, not its value.
 * A slightly impossible value (up to 1.2) is returned: it is evidence of a sensor fault.
 *
 * @param p.outletTemperatureC - Compressor outlet temperature, °C.
 * @returns Fraction; `undefined` below a pressure ratio of 1.05, below 2 K of actual rise, above 1.2, and where the
 *   isentropic temperature is undefined.
 */
export function compressorIsentropicEfficiency(p: Compression & { outletTemperatureC: number }): number | undefined {
  const idealC = isentropicOutletTemperatureC(p);
  const riseK = p.outletTemperatureC - p.inletTemperatureC;
  if (idealC === undefined || !(p.pressureRatio >= LEAST_PRESSURE_RATIO) || !(riseK >= LEAST_RISE_K)) return undefined;
  const efficiency =
    p.heatCapacityRatio === undefined ? realAirQuotient(p, idealC) : (idealC - p.inletTemperatureC) / riseK;
  return efficiency !== undefined && efficiency <= MOST_EFFICIENCY ? efficiency : undefined;
}

function realAirQuotient(
  p: { inletTemperatureC: number; outletTemperatureC: number },
  idealC: number,
): number | undefined {
  const ideal = airEnthalpyRiseKjPerKg({ fromC: p.inletTemperatureC, toC: idealC });
  const actual = airEnthalpyRiseKjPerKg({ fromC: p.inletTemperatureC, toC: p.outletTemperatureC });
  return ideal === undefined || actual === undefined ? undefined : ideal / actual;
}

type PolytropicState = {
  /** Outlet over inlet pressure, both absolute. */
  readonly pressureRatio: number;
  /** Ratio of specific heats, such as 1.4. */
  readonly heatCapacityRatio: number;
};

/**
 * Polytropic efficiency of a compressor of this isentropic efficiency: the efficiency of one small step, which does not
 * fall with pressure ratio as the isentropic one does, so engines at different boost compare fairly.
 *
 * @returns Fraction; `undefined` below a pressure ratio of 1.05 and for an isentropic efficiency outside 0 to 1.
 */
export function polytropicEfficiency(p: PolytropicState & { isentropicEfficiency: number }): number | undefined {
  if (!isMeaningful(p) || !(p.isentropicEfficiency > 0 && p.isentropicEfficiency <= 1)) return undefined;
  const logIdeal = idealExponent(p) * Math.log(p.pressureRatio);
  return logIdeal / Math.log1p(Math.expm1(logIdeal) / p.isentropicEfficiency);
}

/**
 * Isentropic efficiency of a compressor of this polytropic efficiency.
 *
 * @returns Fraction; `undefined` below a pressure ratio of 1.05 and for a polytropic efficiency outside 0 to 1.
 */
export function isentropicOfPolytropicEfficiency(
  p: PolytropicState & { polytropicEfficiency: number },
): number | undefined {
  if (!isMeaningful(p) || !(p.polytropicEfficiency > 0 && p.polytropicEfficiency <= 1)) return undefined;
  const logIdeal = idealExponent(p) * Math.log(p.pressureRatio);
  return Math.expm1(logIdeal) / Math.expm1(logIdeal / p.polytropicEfficiency);
}

function isMeaningful(p: PolytropicState): boolean {
  return p.pressureRatio >= LEAST_PRESSURE_RATIO && p.heatCapacityRatio > 1;
}

function idealExponent(p: PolytropicState): number {
  return (p.heatCapacityRatio - 1) / p.heatCapacityRatio;
}
