import { assert } from '../../schemas/assert.ts';
import { normalDensity } from '../statistics/normal.ts';
import { gaussLegendre } from '../statistics/quadrature.ts';
import { at, dot, solveSquare } from './linear-algebra.ts';

/** An EWMA chart with asymptotic limits, fed with independent normal values of standard deviation 1 about a centre of 0. */
export type EwmaDesign = {
  /** Weight of the newest value, above 0 to 1. */
  readonly weight: number;
  /** Distance of the limits in standard deviations of the average. */
  readonly limitSigmas: number;
  /** Mean of the values. Default 0. */
  readonly shift?: number;
};

/** Distance of the limits from the centre, in standard deviations of one value. */
export function ewmaReach(design: { readonly weight: number; readonly limitSigmas: number }): number {
  return design.limitSigmas * Math.sqrt(design.weight / (2 - design.weight));
}

/**
 * Average run length of a two-sided EWMA chart: how many samples until it signals, the signalling one included, with
 * the average at the centre before the first sample and the shift there from it on.
 *
 * @throws AssertionError when the weight is not above 0 and at most 1, or the limits are not above 0.
 * @see Crowder (1987), Technometrics 29, 401-407 (the integral equation), solved at Gauss–Legendre nodes.
 * @example ewmaRunLength({ weight: 0.25, limitSigmas: 3, shift: 1 }) // => 11.1543
 */
export function ewmaRunLength(design: EwmaDesign): number {
  const { weight, limitSigmas, shift = 0 } = design;
  assert(
    weight > 0 && weight <= 1 && limitSigmas > 0,
    'an EWMA weight is above 0 and at most 1, and its limits are above 0',
  );
  const reach = ewmaReach(design);
  // The kernel is `weight` wide: enough nodes across it whatever the weight.
  const rule = gaussLegendre(Math.min(160, Math.ceil(20 + (5 * reach) / weight)), { low: -reach, high: reach });
  const row = (from: number) =>
    rule.nodes.map(
      (x, j) => (at(rule.weights, j) / weight) * normalDensity((x - (1 - weight) * from) / weight - shift),
    );
  const size = rule.nodes.length;
  const system = new Float64Array(size * size);
  for (const [i, from] of rule.nodes.entries()) {
    system.set(
      row(from).map((value, j) => (i === j ? 1 : 0) - value),
      i * size,
    );
  }
  return 1 + dot(row(0), solveSquare(system, new Float64Array(size).fill(1)));
}
