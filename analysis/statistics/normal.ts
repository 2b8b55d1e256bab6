import { assert } from '../../schemas/assert.ts';
import { incompleteGamma } from './gamma.ts';

const SQRT_TWO_PI = Math.sqrt(2 * Math.PI);

/** Density of the standard normal law at `z`. */
export function normalDensity(z: number): number {
  return Math.exp(-0.5 * z * z) / SQRT_TWO_PI;
}

/**
 * Probability that a standard normal value exceeds `z`; far tails keep their digits.
 *
 * @see Abramowitz & Stegun 7.1.2 and 6.5.17: the complementary error function as an incomplete gamma function.
 */
export function normalUpperTail(z: number): number {
  const { lower, upper } = incompleteGamma(0.5, 0.5 * z * z);
  return z >= 0 ? upper / 2 : 0.5 + lower / 2;
}

/** Probability that a standard normal value is at most `z`. */
export function normalCdf(z: number): number {
  return normalUpperTail(-z);
}

/** Probability that a standard normal value is at least as far from zero as `z`, on either side. */
export function normalTwoSidedTail(z: number): number {
  return 2 * normalUpperTail(Math.abs(z));
}

/**
 * The value which a standard normal variable stays below with probability `p`.
 *
 * @param p - Between 0 and 1, both excluded.
 * @throws AssertionError outside that range.
 * @see Abramowitz & Stegun 26.2.23 for the start, which Halley's iteration then brings to double precision.
 * @example normalQuantile(0.75) // => 0.674489750196082
 */
export function normalQuantile(p: number): number {
  assert(p > 0 && p < 1, 'normalQuantile needs a probability between 0 and 1');
  if (p === 0.5) return 0;
  if (p > 0.5) return -normalQuantile(1 - p);
  const t = Math.sqrt(-2 * Math.log(p));
  const ratio = (2.515517 + t * (0.802853 + t * 0.010328)) / (1 + t * (1.432788 + t * (0.189269 + t * 0.001308)));
  let z = ratio - t;
  for (let i = 0; i < 3; i++) {
    const newton = (normalCdf(z) - p) / normalDensity(z);
    z -= newton / (1 + 0.5 * z * newton);
  }
  return z;
}
