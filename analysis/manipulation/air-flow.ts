import { dryAirDensityKgPerM3 } from './air-density.ts';

/** An engine as a pump: what it sweeps. */
export type Pump = {
  /** Swept volume of all cylinders, litres. */
  readonly displacementL: number;
  /** Engine speed, revolutions per minute. */
  readonly speedRpm: number;
  /** 4: half the displacement is filled per revolution; 2: all of it. */
  readonly strokes: 4 | 2;
};

/** Volume in m3 that the engine sweeps per second. */
function sweptFlowM3PerS(p: Pump): number {
  return ((p.displacementL / 1000) * p.speedRpm) / 60 / (p.strokes / 2);
}

/**
 * Air mass flow of an engine by speed and density, kg/s. Dry air; see `moistAirDensityKgPerM3` for how much lighter moist air is.
 *
 * A leak before the engine is not in it, so filter and cooler coefficients that rise together point to a leak. It does not
 * hold for a blower-scavenged two-stroke, which blows air through.
 *
 * @param p.volumetricEfficiency - Referred to MANIFOLD conditions, about 0.8 to 1.0 on a four-stroke.
 * @param p.manifoldAbsKpa - Pressure after the cooler, kPa ABSOLUTE.
 * @param p.manifoldTemperatureC - Charge-air temperature after the cooler, °C.
 * @returns 0 at standstill; `undefined` when pressure, volume or efficiency is not above zero or speed is below zero.
 */
export function speedDensityAirFlowKgPerS(
  p: Pump & { volumetricEfficiency: number; manifoldAbsKpa: number; manifoldTemperatureC: number },
): number | undefined {
  const density = dryAirDensityKgPerM3({ pressureAbsKpa: p.manifoldAbsKpa, temperatureC: p.manifoldTemperatureC });
  if (density === undefined || !(p.displacementL > 0 && p.speedRpm >= 0 && p.volumetricEfficiency > 0))
    return undefined;
  return p.volumetricEfficiency * sweptFlowM3PerS(p) * density;
}

/**
 * Volumetric efficiency from a measured air flow: air drawn over air that would fill the swept volume at the reference state.
 *
 * @param p.airFlowKgPerS - Measured, kg/s.
 * @param p.referenceAbsKpa - kPa absolute; the manifold's, or ambient, with which a boosted engine exceeds 1.
 * @param p.referenceTemperatureC - °C, at the same place.
 * @returns `undefined` at standstill and when pressure or volume is not above zero.
 */
export function volumetricEfficiency(
  p: Pump & { airFlowKgPerS: number; referenceAbsKpa: number; referenceTemperatureC: number },
): number | undefined {
  const density = dryAirDensityKgPerM3({ pressureAbsKpa: p.referenceAbsKpa, temperatureC: p.referenceTemperatureC });
  const sweptM3PerS = sweptFlowM3PerS(p);
  if (density === undefined || !(sweptM3PerS > 0 && p.airFlowKgPerS >= 0)) return undefined;
  return p.airFlowKgPerS / (density * sweptM3PerS);
}
