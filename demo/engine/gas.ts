/** Gas constant of dry air, kJ/(kg·K). */
export const AIR_GAS_CONSTANT = 0.28705;
/** Lower heating value of diesel fuel, kJ/kg (handbook figure; the demo needs no better). */
export const FUEL_HEATING_VALUE = 42_700;
/** Density of diesel fuel, kg/L at 15 °C, for turning mass flow into the L/h an engine reports. */
export const FUEL_DENSITY_KG_PER_L = 0.835;

const AIR_KAPPA = 1.4;

/** Heat capacity of air at constant pressure, kJ/(kg·K): a straight line through the air table, 1.003 at 300 K and 1.024 at 500 K. */
export function airHeatCapacity(temperatureK: number): number {
  return 0.972 + 0.000104 * temperatureK;
}

/**
 * Temperature of exhaust gas of a given enthalpy, K. Heat capacity rises along 0.98 + 0.00021 T kJ/(kg·K),
 * so enthalpy is a quadratic in temperature and its root is closed.
 *
 * @param enthalpy - kJ/kg above absolute zero on that line.
 */
export function exhaustTemperatureK(enthalpy: number): number {
  return (-0.98 + Math.sqrt(0.98 * 0.98 + 2 * 0.00021 * enthalpy)) / 0.00021;
}

/** Enthalpy of exhaust gas, kJ/kg: the inverse of {@link exhaustTemperatureK}. */
export function exhaustEnthalpy(temperatureK: number): number {
  return temperatureK * (0.98 + 0.000105 * temperatureK);
}

/** Heat capacity of exhaust gas, kJ/(kg·K). */
export function exhaustHeatCapacity(temperatureK: number): number {
  return 0.98 + 0.00021 * temperatureK;
}

/**
 * Mass flow through a sharp-edged hole, kg/s: compressible nozzle flow, choked where the pressure ratio allows,
 * discharge coefficient 0.8.
 *
 * @param p.diameterMm - Hole; 0 gives 0.
 * @param p.upstreamKpa - Absolute; at or below `downstreamKpa` nothing flows.
 */
export function holeFlow(p: {
  diameterMm: number;
  upstreamKpa: number;
  downstreamKpa: number;
  temperatureK: number;
}): number {
  if (p.diameterMm <= 0 || p.upstreamKpa <= p.downstreamKpa) return 0;
  const areaM2 = (Math.PI / 4) * p.diameterMm * p.diameterMm * 1e-6;
  const ratio = Math.max(p.downstreamKpa / p.upstreamKpa, 0.5283);
  const psi = Math.sqrt(
    ((2 * AIR_KAPPA) / (AIR_KAPPA - 1)) * (ratio ** (2 / AIR_KAPPA) - ratio ** ((AIR_KAPPA + 1) / AIR_KAPPA)),
  );
  return (0.8 * areaM2 * p.upstreamKpa * 1000 * psi) / Math.sqrt(AIR_GAS_CONSTANT * 1000 * p.temperatureK);
}
