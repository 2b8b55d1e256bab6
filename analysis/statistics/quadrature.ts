import { assert } from '../../schemas/assert.ts';

/** Nodes and weights of a quadrature rule on an interval. */
export type QuadratureRule = { readonly nodes: readonly number[]; readonly weights: readonly number[] };

/** Rules on [-1, 1] by size. They depend on nothing but the size, so keeping them changes no result. */
const standardRules = new Map<number, QuadratureRule>();

/**
 * Gauss–Legendre rule: exact for polynomials up to degree 2 `size` - 1, all nodes inside the interval, ascending.
 *
 * @param size - How many nodes, 1 or more.
 * @param interval - Where to integrate.
 * @throws AssertionError when `size` is below 1.
 * @see Abramowitz & Stegun 25.4.29 and 25.4.30; the nodes are found by Newton's iteration.
 */
export function gaussLegendre(size: number, interval: { readonly low: number; readonly high: number }): QuadratureRule {
  assert(size >= 1, 'gaussLegendre needs at least one node');
  const standard = standardRules.get(size) ?? standardRule(size);
  standardRules.set(size, standard);
  const half = (interval.high - interval.low) / 2;
  const middle = (interval.high + interval.low) / 2;
  return { nodes: standard.nodes.map((x) => middle + half * x), weights: standard.weights.map((w) => half * w) };
}

function standardRule(size: number): QuadratureRule {
  const nodes: number[] = [];
  const weights: number[] = [];
  for (let i = 0; i < size; i++) {
    let x = -Math.cos((Math.PI * (i + 0.75)) / (size + 0.5));
    let slope = 1;
    for (let iteration = 0; iteration < 100; iteration++) {
      let [before, value] = [0, 1];
      for (let k = 0; k < size; k++) [before, value] = [value, ((2 * k + 1) * x * value - k * before) / (k + 1)];
      slope = (size * (x * value - before)) / (x * x - 1);
      const step = value / slope;
      x -= step;
      if (Math.abs(step) < 1e-15) break;
    }
    nodes.push(x);
    weights.push(2 / ((1 - x * x) * slope * slope));
  }
  return { nodes, weights };
}
