import { assert } from '../../schemas/assert.ts';
import { logGamma } from './gamma.ts';

const MAX_TERMS = 10_000;
const TINY = 1e-300;

/**
 * Regularised incomplete beta function I_x(a, b).
 *
 * @param p.x - From 0 to 1.
 * @param p.oneMinusX - 1 - x when the caller knows it without cancellation; keeps the digits of `x` near 1.
 * @param p.a - Above zero.
 * @param p.b - Above zero.
 * @throws AssertionError outside those ranges.
 * @see Abramowitz & Stegun 26.5.8 (continued fraction, here by the modified Lentz method) and 26.5.2 (reflection).
 */
export function incompleteBeta(p: { x: number; oneMinusX?: number; a: number; b: number }): number {
  const { x, a, b, oneMinusX = 1 - p.x } = p;
  assert(a > 0 && b > 0 && x >= 0 && x <= 1, 'incompleteBeta needs a, b > 0 and 0 <= x <= 1');
  if (x === 0 || oneMinusX === 0) return x === 0 ? 0 : 1;
  const front = Math.exp(logGamma(a + b) - logGamma(a) - logGamma(b) + a * Math.log(x) + b * Math.log(oneMinusX));
  if (x < (a + 1) / (a + b + 2)) return (front * betaFraction(x, { a, b })) / a;
  return 1 - (front * betaFraction(oneMinusX, { a: b, b: a })) / b;
}

function betaFraction(x: number, { a, b }: { a: number; b: number }): number {
  let c = 1;
  let d = 1 - ((a + b) * x) / (a + 1);
  if (Math.abs(d) < TINY) d = TINY;
  d = 1 / d;
  let fraction = d;
  for (let m = 1; m < MAX_TERMS; m++) {
    const even = (m * (b - m) * x) / ((a + 2 * m - 1) * (a + 2 * m));
    const odd = (-(a + m) * (a + b + m) * x) / ((a + 2 * m) * (a + 2 * m + 1));
    let factor = 1;
    for (const numerator of [even, odd]) {
      d = 1 + numerator * d;
      if (Math.abs(d) < TINY) d = TINY;
      c = 1 + numerator / c;
      if (Math.abs(c) < TINY) c = TINY;
      d = 1 / d;
      factor = d * c;
      fraction *= factor;
    }
    if (Math.abs(factor - 1) < 1e-16) break;
  }
  return fraction;
}
