import { assert } from '../../schemas/assert.ts';

/** Below this argument the recurrence lifts it first, so that six terms of the asymptotic series reach double precision. */
const STIRLING_FROM = 15;
const HALF_LOG_TWO_PI = 0.9189385332046728;
const MAX_TERMS = 10_000;
const TINY = 1e-300;

/**
 * Natural logarithm of the gamma function, to about 15 digits.
 *
 * @param x - Above zero.
 * @throws AssertionError when `x` is not above zero.
 * @see Abramowitz & Stegun, Handbook of Mathematical Functions, 6.1.15 (recurrence) and 6.1.41 (Stirling's series).
 */
export function logGamma(x: number): number {
  assert(x > 0, 'logGamma needs an argument above zero');
  let lifted = x;
  let product = 1;
  while (lifted < STIRLING_FROM) {
    product *= lifted;
    lifted += 1;
  }
  const square = 1 / (lifted * lifted);
  const series =
    (1 / 12 -
      square * (1 / 360 - square * (1 / 1260 - square * (1 / 1680 - square * (1 / 1188 - square * (691 / 360360)))))) /
    lifted;
  return (lifted - 0.5) * Math.log(lifted) - lifted + HALF_LOG_TWO_PI + series - Math.log(product);
}

/**
 * Regularised incomplete gamma functions, P (lower) and Q (upper); P + Q = 1, and the smaller keeps its digits.
 *
 * @param shape - Above zero.
 * @param x - Zero or above.
 * @throws AssertionError outside those ranges.
 * @see Abramowitz & Stegun 6.5.29 (series) and 6.5.31 (continued fraction, here by the modified Lentz method).
 */
export function incompleteGamma(shape: number, x: number): { readonly lower: number; readonly upper: number } {
  assert(shape > 0 && x >= 0, 'incompleteGamma needs shape > 0 and x >= 0');
  if (x === 0) return { lower: 0, upper: 1 };
  if (x === Number.POSITIVE_INFINITY) return { lower: 1, upper: 0 };
  const front = Math.exp(shape * Math.log(x) - x - logGamma(shape));
  if (x < shape + 1) {
    const lower = front * lowerSeries(shape, x);
    return { lower, upper: 1 - lower };
  }
  const upper = front * upperFraction(shape, x);
  return { lower: 1 - upper, upper };
}

function lowerSeries(shape: number, x: number): number {
  let term = 1 / shape;
  let sum = term;
  for (let n = 1; n < MAX_TERMS; n++) {
    term *= x / (shape + n);
    sum += term;
    if (term < sum * 1e-17) break;
  }
  return sum;
}

function upperFraction(shape: number, x: number): number {
  let b = x + 1 - shape;
  let c = 1 / TINY;
  let d = 1 / b;
  let fraction = d;
  for (let n = 1; n < MAX_TERMS; n++) {
    const a = -n * (n - shape);
    b += 2;
    d = a * d + b;
    if (Math.abs(d) < TINY) d = TINY;
    c = b + a / c;
    if (Math.abs(c) < TINY) c = TINY;
    d = 1 / d;
    const factor = d * c;
    fraction *= factor;
    if (Math.abs(factor - 1) < 1e-16) break;
  }
  return fraction;
}
