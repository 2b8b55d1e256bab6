import { assert } from '../../schemas/assert.ts';

/**
 * Absolute pressure in kPa of a gauge reading: gauge plus the barometer of that moment and place, never plus 101.325.
 *
 * @param p.gaugeKpa - kPa gauge; below zero under vacuum.
 * @param p.barometricAbsKpa - kPa absolute.
 * @returns `undefined` when the sum is not above zero: such a reading is impossible.
 */
export function absolutePressureKpa(p: { gaugeKpa: number; barometricAbsKpa: number }): number | undefined {
  const sum = p.gaugeKpa + p.barometricAbsKpa;
  return sum > 0 ? sum : undefined;
}

/**
 * Pressure ratio over the compressor, from boost read as gauge pressure after the cooler: compressor outlet is boost plus
 * barometer plus cooler drop, compressor inlet is barometer less filter and duct depression.
 *
 * With drops left out, a dirty filter reads as a worn compressor.
 *
 * @param p.boostGaugeKpa - Intake manifold pressure, kPa gauge. Below zero at idle on some engines.
 * @param p.barometricAbsKpa - kPa absolute. Above zero; the signal's range guarantees it.
 * @param p.inletDepressionKpa - Filter and duct depression before the compressor, kPa; 0 when left out.
 * @param p.coolerPressureDropKpa - Charge-air side drop of the cooler, kPa; 0 when left out.
 * @returns Dimensionless, 1 without boost; `undefined` when an end would not be above absolute zero pressure.
 * @throws AssertionError when the barometer is not above zero: a bug in the caller.
 * @example compressorPressureRatio({ boostGaugeKpa: 150, barometricAbsKpa: 100 }) // => 2.5
 */
export function compressorPressureRatio(p: {
  boostGaugeKpa: number;
  barometricAbsKpa: number;
  inletDepressionKpa?: number;
  coolerPressureDropKpa?: number;
}): number | undefined {
  assert(p.barometricAbsKpa > 0, 'the barometric pressure is above zero');
  const inletAbsKpa = p.barometricAbsKpa - (p.inletDepressionKpa ?? 0);
  const outletAbsKpa = p.boostGaugeKpa + p.barometricAbsKpa + (p.coolerPressureDropKpa ?? 0);
  return inletAbsKpa > 0 && outletAbsKpa > 0 ? outletAbsKpa / inletAbsKpa : undefined;
}
