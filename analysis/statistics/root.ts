import { assert } from '../../schemas/assert.ts';

const MAX_STEPS = 200;

/**
 * A root of a continuous function between two points where its signs differ: Brent's method, which never leaves the
 * bracket.
 *
 * @param f - The function.
 * @param p.low - One end of the bracket.
 * @param p.high - The other end.
 * @param p.tolerance - How close to the root is close enough, in the unit of the argument; default near rounding.
 * @throws AssertionError when `f` has the same sign at both ends.
 * @see Brent (1973), Algorithms for Minimization without Derivatives, chapter 4.
 */
export function rootBetween(f: (x: number) => number, p: { low: number; high: number; tolerance?: number }): number {
  let [a, b] = [p.low, p.high];
  let [fa, fb] = [f(a), f(b)];
  assert(fa === 0 || fb === 0 || fa > 0 !== fb > 0, 'rootBetween needs a change of sign over the bracket');
  let [c, fc] = [a, fa];
  let step = b - a;
  let before = step;
  for (let i = 0; i < MAX_STEPS; i++) {
    if (fb > 0 === fc > 0) {
      [c, fc] = [a, fa];
      step = b - a;
      before = step;
    }
    if (Math.abs(fc) < Math.abs(fb)) {
      [a, b, c] = [b, c, b];
      [fa, fb, fc] = [fb, fc, fb];
    }
    const close = 2 * Number.EPSILON * Math.abs(b) + (p.tolerance ?? 0) / 2;
    const half = (c - b) / 2;
    if (Math.abs(half) <= close || fb === 0) return b;
    const tried = Math.abs(before) >= close && Math.abs(fa) > Math.abs(fb);
    const guess = tried ? interpolate({ a, b, c, fa, fb, fc }) : undefined;
    if (
      guess !== undefined &&
      2 * guess.up < Math.min(3 * half * guess.down - Math.abs(close * guess.down), Math.abs(before * guess.down))
    ) {
      before = step;
      step = guess.up / guess.down;
    } else {
      step = half;
      before = half;
    }
    [a, fa] = [b, fb];
    b += Math.abs(step) > close ? step : Math.sign(half) * close;
    fb = f(b);
  }
  return b;
}

/** The step by the secant or by inverse quadratic interpolation, as a fraction with `up` not below zero. */
function interpolate(p: { a: number; b: number; c: number; fa: number; fb: number; fc: number }): {
  up: number;
  down: number;
} {
  const s = p.fb / p.fa;
  let up: number;
  let down: number;
  if (p.a === p.c) {
    up = (p.c - p.b) * s;
    down = 1 - s;
  } else {
    const q = p.fa / p.fc;
    const r = p.fb / p.fc;
    up = s * ((p.c - p.b) * q * (q - r) - (p.b - p.a) * (r - 1));
    down = (q - 1) * (r - 1) * (s - 1);
  }
  return up > 0 ? { up, down: -down } : { up: -up, down };
}
