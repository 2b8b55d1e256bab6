import { bracketedRoot } from './bracketed-root.ts';
import { celsius, kelvin } from './kelvin.ts';

/** Triple point of water, K: below it ice is the stable form. */
const TRIPLE_POINT_K = 273.16;
const COLDEST_K = 173.15;
const COLDEST_SUPERCOOLED_K = 223.15;
const HOTTEST_K = 473.15;

/**
 * Saturation pressure of water vapour over liquid water, kPa.
 *
 * @param temperatureC - From -50 (supercooled) to 200 °C.
 * @returns `undefined` outside that range.
 * @see Hyland and Wexler (1983), as in ASHRAE Fundamentals chapter 1, from the triple point up; Murphy and Koop,
 *   Q. J. R. Meteorol. Soc. 131 (2005) 1539, equation 10, for supercooled water. Within 0.05 % of IAPWS-95 from 0 to 80 °C.
 */
export function saturationPressureOverLiquidKpa(temperatureC: number): number | undefined {
  const t = kelvin(temperatureC);
  if (!(t >= COLDEST_SUPERCOOLED_K && t <= HOTTEST_K)) return undefined;
  return (t < TRIPLE_POINT_K ? supercooledPa(t) : liquidPa(t)) / 1000;
}

/**
 * Saturation pressure of water vapour over ice, kPa.
 *
 * @param temperatureC - From -100 to 0.01 °C.
 * @returns `undefined` outside that range.
 * @see Hyland and Wexler (1983), as in ASHRAE Fundamentals chapter 1.
 */
export function saturationPressureOverIceKpa(temperatureC: number): number | undefined {
  const t = kelvin(temperatureC);
  return t >= COLDEST_K && t <= TRIPLE_POINT_K ? icePa(t) / 1000 : undefined;
}

/**
 * Saturation pressure of water vapour over the form that is stable at this temperature, kPa: ice below 0.01 °C, liquid
 * above. Relative humidity in this project refers to it, as in psychrometric practice (ASHRAE Fundamentals chapter 1).
 *
 * @param temperatureC - From -100 to 200 °C.
 * @returns `undefined` outside that range.
 */
export function saturationPressureKpa(temperatureC: number): number | undefined {
  return kelvin(temperatureC) < TRIPLE_POINT_K
    ? saturationPressureOverIceKpa(temperatureC)
    : saturationPressureOverLiquidKpa(temperatureC);
}

/**
 * Temperature in °C at which this vapour pressure saturates: the dew point, or the frost point below 0.01 °C.
 *
 * @param vapourPressureKpa - Partial pressure of the water vapour, kPa.
 * @returns `undefined` for dry air (zero) and outside -100 to 200 °C.
 */
export function dewPointC(vapourPressureKpa: number): number | undefined {
  if (!(vapourPressureKpa > 0)) return undefined;
  const target = Math.log(vapourPressureKpa * 1000);
  const below = Math.log(icePa(TRIPLE_POINT_K)) >= target;
  const root = bracketedRoot({
    of: (t) => Math.log(below ? icePa(t) : liquidPa(t)) - target,
    low: below ? COLDEST_K : TRIPLE_POINT_K,
    high: below ? TRIPLE_POINT_K : HOTTEST_K,
  });
  if (root === undefined) {
    // The two fits differ by 0.02 Pa at the triple point: a pressure between them is the triple point.
    return !below && vapourPressureKpa * 1000 <= liquidPa(TRIPLE_POINT_K) ? celsius(TRIPLE_POINT_K) : undefined;
  }
  return celsius(root);
}

function liquidPa(t: number): number {
  return Math.exp(
    -5.8002206e3 / t +
      1.3914993 -
      4.8640239e-2 * t +
      4.1764768e-5 * t ** 2 -
      1.4452093e-8 * t ** 3 +
      6.5459673 * Math.log(t),
  );
}

function icePa(t: number): number {
  return Math.exp(
    -5.6745359e3 / t +
      6.3925247 -
      9.677843e-3 * t +
      6.2215701e-7 * t ** 2 +
      2.0747825e-9 * t ** 3 -
      9.484024e-13 * t ** 4 +
      4.1635019 * Math.log(t),
  );
}

function supercooledPa(t: number): number {
  const low = 54.842763 - 6763.22 / t - 4.21 * Math.log(t) + 0.000367 * t;
  return Math.exp(
    low + Math.tanh(0.0415 * (t - 218.8)) * (53.878 - 1331.22 / t - 9.44523 * Math.log(t) + 0.014025 * t),
  );
}
