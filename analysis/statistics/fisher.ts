import { assert } from '../../schemas/assert.ts';
import { incompleteBeta } from './beta.ts';
import { rootBetween } from './root.ts';

/** Degrees of freedom of the two mean squares of a variance ratio, both above zero. */
export type RatioFreedom = { readonly numerator: number; readonly denominator: number };

/** Probability that a variance ratio (F) exceeds `x`. See Abramowitz & Stegun 26.6.2. */
export function fisherUpperTail(x: number, freedom: RatioFreedom): number {
  assert(freedom.numerator > 0 && freedom.denominator > 0, 'F needs degrees of freedom above zero');
  if (x <= 0) return 1;
  const whole = freedom.denominator + freedom.numerator * x;
  return incompleteBeta({
    x: freedom.denominator / whole,
    oneMinusX: (freedom.numerator * x) / whole,
    a: freedom.denominator / 2,
    b: freedom.numerator / 2,
  });
}

/** Probability that a variance ratio (F) is at most `x`. */
export function fisherCdf(x: number, freedom: RatioFreedom): number {
  if (x <= 0) return 0;
  return fisherUpperTail(1 / x, { numerator: freedom.denominator, denominator: freedom.numerator });
}

/**
 * The value which a variance ratio (F) stays below with probability `p`.
 *
 * @param p - Between 0 and 1, both excluded.
 * @throws AssertionError outside that range.
 */
export function fisherQuantile(p: number, freedom: RatioFreedom): number {
  assert(p > 0 && p < 1, 'fisherQuantile needs a probability between 0 and 1');
  const gap = (logX: number) => {
    const x = Math.exp(logX);
    return p < 0.5 ? Math.log(fisherCdf(x, freedom) / p) : -Math.log(fisherUpperTail(x, freedom) / (1 - p));
  };
  let [low, high] = [-1, 1];
  while (gap(low) > 0) low *= 2;
  while (gap(high) < 0) high *= 2;
  return Math.exp(rootBetween(gap, { low, high }));
}
