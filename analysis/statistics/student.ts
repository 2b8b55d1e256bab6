import { assert } from '../../schemas/assert.ts';
import { incompleteBeta } from './beta.ts';
import { normalQuantile } from './normal.ts';
import { rootBetween } from './root.ts';

/**
 * Probability that a Student value exceeds `t`.
 *
 * @param t - Any finite number.
 * @param degreesOfFreedom - Above zero, need not be whole.
 * @see Abramowitz & Stegun 26.7.1.
 */
export function studentUpperTail(t: number, degreesOfFreedom: number): number {
  assert(degreesOfFreedom > 0, 'Student needs degrees of freedom above zero');
  const whole = degreesOfFreedom + t * t;
  const outside = incompleteBeta({
    x: degreesOfFreedom / whole,
    oneMinusX: (t * t) / whole,
    a: degreesOfFreedom / 2,
    b: 0.5,
  });
  return t >= 0 ? outside / 2 : 1 - outside / 2;
}

/** Probability that a Student value is at most `t`; see {@link studentUpperTail}. */
export function studentCdf(t: number, degreesOfFreedom: number): number {
  return studentUpperTail(-t, degreesOfFreedom);
}

/**
 * The value which a Student variable stays below with probability `p`.
 *
 * @param p - Between 0 and 1, both excluded.
 * @param degreesOfFreedom - Above zero.
 * @throws AssertionError outside those ranges.
 * @example studentQuantile(0.975, 10) // => 2.228138851964939
 */
export function studentQuantile(p: number, degreesOfFreedom: number): number {
  assert(p > 0 && p < 1, 'studentQuantile needs a probability between 0 and 1');
  if (p === 0.5) return 0;
  if (p > 0.5) return -studentQuantile(1 - p, degreesOfFreedom);
  // The normal quantile is nearer to zero than every Student quantile, so it bounds the search on one side.
  const low = -normalQuantile(p) * 0.999;
  let high = 2 * low + 1;
  while (studentUpperTail(high, degreesOfFreedom) > p) high *= 2;
  return -rootBetween((t) => Math.log(studentUpperTail(t, degreesOfFreedom) / p), { low, high });
}
