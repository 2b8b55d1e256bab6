import { assert } from '../../schemas/assert.ts';
import { incompleteGamma } from './gamma.ts';
import { rootBetween } from './root.ts';

/** Probability that a chi-squared value is at most `x` (zero or above). See Abramowitz & Stegun 26.4.1 and 26.4.19. */
export function chiSquaredCdf(x: number, degreesOfFreedom: number): number {
  return x <= 0 ? 0 : incompleteGamma(degreesOfFreedom / 2, x / 2).lower;
}

/** Probability that a chi-squared value exceeds `x`; far tails keep their digits. */
export function chiSquaredUpperTail(x: number, degreesOfFreedom: number): number {
  return x <= 0 ? 1 : incompleteGamma(degreesOfFreedom / 2, x / 2).upper;
}

/**
 * The value which a chi-squared variable stays below with probability `p`.
 *
 * @param p - Between 0 and 1, both excluded.
 * @param degreesOfFreedom - Above zero.
 * @throws AssertionError outside those ranges.
 */
export function chiSquaredQuantile(p: number, degreesOfFreedom: number): number {
  assert(
    p > 0 && p < 1 && degreesOfFreedom > 0,
    'chiSquaredQuantile needs 0 < p < 1 and degrees of freedom above zero',
  );
  const gap = (x: number) =>
    p < 0.5
      ? Math.log(chiSquaredCdf(x, degreesOfFreedom) / p)
      : -Math.log(chiSquaredUpperTail(x, degreesOfFreedom) / (1 - p));
  let [low, high] = [degreesOfFreedom, degreesOfFreedom];
  while (gap(low) > 0) low /= 2;
  while (gap(high) < 0) high *= 2;
  return rootBetween(gap, { low, high });
}
