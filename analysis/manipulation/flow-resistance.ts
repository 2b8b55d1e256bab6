/**
 * Pressure-drop coefficient of a cooler, filter or duct in 1/m4: `dp rho / m^2`, which stays when load changes and rises when
 * the passage fouls.
 *
 * Holds for turbulent flow, where the drop goes with the square of the flow; paper filters run nearer to flow to the power
 * of 1.0 to 1.8, so compare at like flow. Both coefficients rise together on speed-density flow when air leaks before the engine.
 *
 * @param p.pressureDropKpa - Differential pressure over the part, kPa. Below zero by sensor offset near standstill.
 * @param p.densityKgPerM3 - Air density in the part: of the air at its inlet for a filter, of the mean state for a cooler.
 * @param p.airFlowKgPerS - kg/s.
 * @returns `undefined` when density or flow is not above zero.
 */
export function pressureDropCoefficientPerM4(p: {
  pressureDropKpa: number;
  densityKgPerM3: number;
  airFlowKgPerS: number;
}): number | undefined {
  if (!(p.densityKgPerM3 > 0 && p.airFlowKgPerS > 0)) return undefined;
  return (p.pressureDropKpa * 1000 * p.densityKgPerM3) / p.airFlowKgPerS ** 2;
}

/**
 * The drop in kPa that a part of this coefficient shows at another flow and density: to state a fouled part's drop at rated flow.
 *
 * @returns `undefined` when density is not above zero or flow is below zero.
 */
export function pressureDropKpa(p: {
  coefficientPerM4: number;
  densityKgPerM3: number;
  airFlowKgPerS: number;
}): number | undefined {
  if (!(p.densityKgPerM3 > 0 && p.airFlowKgPerS >= 0)) return undefined;
  return (p.coefficientPerM4 * p.airFlowKgPerS ** 2) / p.densityKgPerM3 / 1000;
}
