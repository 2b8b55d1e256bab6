import { airEnthalpyRiseKjPerKg, isentropicAirTemperatureC } from './air-properties.ts';
import { bracketedRoot } from './bracketed-root.ts';
import { celsius, kelvin } from './kelvin.ts';

/** Inlet temperature and pressure ratio of a compression; with `heatCapacityRatio` the gas is perfect, without it real air. */
export type Compression = {
  /** Compressor inlet temperature, °C; strictly the total (stagnation) temperature. */
  readonly inletTemperatureC: number;
  /** Outlet over inlet pressure, both absolute. */
  readonly pressureRatio: number;
  /** Ratio of specific heats, such as 1.4, held constant. Left out: air whose specific heat grows with temperature. */
  readonly heatCapacityRatio?: number;
};

/**
 * Temperature in °C after isentropic compression: the coldest that a compressor without cooling could deliver.
 *
 * A constant ratio of 1.4 reads up to 0.6 K high at a pressure ratio of 2.5 and 2.4 K at 5; the real-air form, taken when
 * `heatCapacityRatio` is left out, stays within 0.25 K.
 *
 * @returns `undefined` for a pressure ratio or ratio of specific heats without meaning, and for real air outside -73 to 727 °C.
 */
export function isentropicOutletTemperatureC(p: Compression): number | undefined {
  if (p.heatCapacityRatio === undefined) return isentropicAirTemperatureC(p);
  const inletK = kelvin(p.inletTemperatureC);
  if (!(p.pressureRatio > 0 && p.heatCapacityRatio > 1 && inletK > 0)) return undefined;
  return celsius(inletK * p.pressureRatio ** ((p.heatCapacityRatio - 1) / p.heatCapacityRatio));
}

/**
 * Temperature in °C that a compressor of this efficiency delivers.
 *
 * @param p.isentropicEfficiency - Fraction, above 0 to 1.
 * @returns `undefined` where {@link isentropicOutletTemperatureC} is, or for an efficiency outside its range.
 */
export function compressorOutletTemperatureC(p: Compression & { isentropicEfficiency: number }): number | undefined {
  const idealC = isentropicOutletTemperatureC(p);
  if (idealC === undefined || !(p.isentropicEfficiency > 0 && p.isentropicEfficiency <= 1)) return undefined;
  if (p.heatCapacityRatio !== undefined) {
    return p.inletTemperatureC + (idealC - p.inletTemperatureC) / p.isentropicEfficiency;
  }
  const ideal = airEnthalpyRiseKjPerKg({ fromC: p.inletTemperatureC, toC: idealC });
  if (ideal === undefined) return undefined;
  const actual = ideal / p.isentropicEfficiency;
  const riseBeyond = (toC: number) =>
    (airEnthalpyRiseKjPerKg({ fromC: p.inletTemperatureC, toC }) ?? Number.POSITIVE_INFINITY) - actual;
  return bracketedRoot({ of: riseBeyond, low: Math.min(idealC, p.inletTemperatureC), high: HOTTEST_C });
}

/** Upper end of the air data, °C, a hair inside so that rounding cannot step over it. */
const HOTTEST_C = 726.849;
