import { assert } from '../../schemas/assert.ts';

/** Below this nothing is told apart: a decimal place far finer than any quantity of an engine. */
const FINEST_DECIMALS = 9;
/** Largest magnitude that has a code; far beyond any quantity of an engine. */
const MAX_MAGNITUDE = 1e200;

/**
 * A number rounded to `digits` significant digits, as a whole number that rises with it step by step.
 *
 * Neighbouring numbers have neighbouring codes, also across 9.99 and 10.0, so a smooth column gives small differences;
 * and a rounded number has the same code again, so storing twice changes nothing. Parts finer than 10^-9 are dropped.
 *
 * @param value - Finite and below 1e200; a bug of the caller otherwise.
 * @param digits - 1 to 9.
 * @example significantCode(99.94, 3) < significantCode(100.4, 3) // => true, by one
 */
export function significantCode(value: number, digits: number): number {
  const magnitude = Math.abs(value);
  assert(magnitude < MAX_MAGNITUDE, 'the history keeps finite numbers');
  const full = power(digits);
  const smallest = full / 10;
  let mantissa = Math.round(magnitude * power(FINEST_DECIMALS));
  let decades = 0;
  if (mantissa >= full) {
    // How many digits are too many; the logarithm may be one off at a power of ten, which the two lines below mend.
    decades = Math.floor(Math.log10(magnitude)) + 1 + FINEST_DECIMALS - digits;
    mantissa = scaled(magnitude, FINEST_DECIMALS - decades);
    if (mantissa < smallest) mantissa = scaled(magnitude, FINEST_DECIMALS - --decades);
    if (mantissa >= full) mantissa = scaled(magnitude, FINEST_DECIMALS - ++decades);
  }
  const code = mantissa + decades * 9 * smallest;
  return value < 0 ? -code : code;
}

/** The number that a code of {@link significantCode} stands for: the double nearest to the rounded decimal. */
export function significantValue(code: number, digits: number): number {
  const smallest = power(digits - 1);
  const magnitude = Math.abs(code);
  const decades = magnitude < 10 * smallest ? 0 : Math.floor((magnitude - smallest) / (9 * smallest));
  const mantissa = magnitude - decades * 9 * smallest;
  const value = unscaled(mantissa, FINEST_DECIMALS - decades);
  return code < 0 ? -value : value;
}

// Powers of ten up to 10^22 are exact doubles; multiplying or dividing by one rounds once, to the nearest.
const POWERS = Array.from({ length: 23 }, (_, exponent) => Number(`1e${exponent}`));

function power(exponent: number): number {
  return POWERS[exponent] ?? Number(`1e${exponent}`);
}

function scaled(magnitude: number, decimals: number): number {
  return Math.round(decimals >= 0 ? magnitude * power(decimals) : magnitude / power(-decimals));
}

function unscaled(mantissa: number, decimals: number): number {
  return decimals >= 0 ? mantissa / power(decimals) : mantissa * power(-decimals);
}
