/** A pressure-fed lubrication system as a gear pump, a relief valve, bearing clearances and one fixed orifice. */
export type LubricationDesign = {
  /** Gallery pressure at rated speed and 95 °C, kPa gauge, relief valve not counted. */
  readonly ratedPressureKpa: number;
  readonly reliefPressureKpa: number;
  readonly ratedSpeedRpm: number;
};

/** Dynamic viscosity of an SAE 15W-40 oil, mPa·s (Vogel form through about 100 at 40 °C and 12 at 100 °C; handbook size). */
export function oilViscosity(temperatureC: number): number {
  return 0.0834 * Math.exp(910 / (temperatureC + 88.5));
}

const HOT_VISCOSITY = oilViscosity(95);
/** Share of the rated flow that passes the orifice at rated pressure; the rest leaks through clearances. */
const ORIFICE_SHARE = 0.45;

/**
 * Gallery pressure, kPa gauge. Pump flow equals clearance flow (laminar, by viscosity), orifice flow (by the root of
 * pressure) and relief flow; that is a quadratic in the root of pressure, so it is closed.
 *
 * @param p.pumpFactor - 1 new; below 1 worn pump or starved suction.
 * @param p.clearanceFactor - 1 new; above 1 worn bearings.
 */
export function galleryPressureKpa(
  design: LubricationDesign,
  p: { speedRpm: number; oilTemperatureC: number; pumpFactor: number; clearanceFactor: number },
): number {
  const rootRated = Math.sqrt(design.ratedPressureKpa);
  const pumped = (p.speedRpm / design.ratedSpeedRpm) * p.pumpFactor;
  const thinning = HOT_VISCOSITY / oilViscosity(p.oilTemperatureC);
  const clearance = ((1 - ORIFICE_SHARE) / design.ratedPressureKpa) * thinning * p.clearanceFactor;
  const orifice = ORIFICE_SHARE / rootRated;
  const pressure = pressureOf(clearance, orifice, pumped);
  if (pressure <= design.reliefPressureKpa) return pressure;
  const relief = 6 / design.reliefPressureKpa;
  return pressureOf(clearance + relief, orifice, pumped + relief * design.reliefPressureKpa);
}

function pressureOf(linear: number, root: number, flow: number): number {
  const rootPressure = (-root + Math.sqrt(root * root + 4 * linear * flow)) / (2 * linear);
  return rootPressure * rootPressure;
}
