import { assert } from '../../schemas/assert.ts';
import { normalDensity } from '../statistics/normal.ts';
import { gaussLegendre } from '../statistics/quadrature.ts';
import { at, dot, solveSquare } from './linear-algebra.ts';
import { ewmaReach } from './run-length-ewma.ts';
import { type MemoryChart, memoryOf } from './run-length-memory.ts';

/**
 * Values of a stationary first-order autoregression: each is `autocorrelation` times the one before and a fresh normal
 * part, with standard deviation 1 over time. Everything is in those standard deviations, as residuals are standardised.
 */
export type AutocorrelatedValues = {
  /** Correlation of neighbours, above -1 and below 1. */
  readonly autocorrelation: number;
  /** Mean of the values. Default 0. */
  readonly shift?: number;
};

/**
 * Average run length of a two-sided CUSUM (both sums from zero) on autocorrelated values.
 *
 * @returns Samples until the signal, the signalling one included; within about 1 % (checked by simulation).
 * @throws AssertionError when the autocorrelation is not between -1 and 1.
 * @see Johnson & Bagshaw (1974), Technometrics 16, 103-112, for how much autocorrelation does to a CUSUM. Here the sum
 *   and the last value make a chain of two dimensions. The sides are joined as for independent values, but the one that
 *   runs on after the other signals starts from the value that made it signal.
 */
export function cusumRunLengthAutocorrelated(
  design: { readonly referenceValue: number; readonly decisionInterval: number } & AutocorrelatedValues,
): number {
  const { autocorrelation, shift = 0 } = design;
  const side = (sideShift: number): MemoryChart => ({
    low: 0,
    high: design.decisionInterval,
    start: 0,
    gain: 1,
    carry: 1,
    offset: sideShift - design.referenceValue,
    rest: true,
  });
  const up = memoryOf(side(shift), autocorrelation);
  const down = shift === 0 ? up : memoryOf(side(-shift), autocorrelation);
  const upAfterDown = down.atSignal((value) => up.lengthFrom(-value));
  const downAfterUp = shift === 0 ? upAfterDown : up.atSignal((value) => down.lengthFrom(-value));
  return (up.length / upAfterDown + down.length / downAfterUp - 1) / (1 / upAfterDown + 1 / downAfterUp);
}

/**
 * Average run length of the upper sum alone on autocorrelated values; see {@link cusumRunLengthAutocorrelated}.
 */
export function cusumRunLengthOneSidedAutocorrelated(
  design: { readonly referenceValue: number; readonly decisionInterval: number } & AutocorrelatedValues,
): number {
  return memoryOf(
    {
      low: 0,
      high: design.decisionInterval,
      start: 0,
      gain: 1,
      carry: 1,
      offset: (design.shift ?? 0) - design.referenceValue,
      rest: true,
    },
    design.autocorrelation,
  ).length;
}

/**
 * Average run length of a two-sided EWMA chart with the asymptotic limits of independent values, on autocorrelated ones.
 *
 * @see {@link cusumRunLengthAutocorrelated} for the method.
 */
export function ewmaRunLengthAutocorrelated(
  design: { readonly weight: number; readonly limitSigmas: number } & AutocorrelatedValues,
): number {
  const reach = ewmaReach(design);
  const chart: MemoryChart = {
    low: -reach,
    high: reach,
    start: 0,
    gain: design.weight,
    carry: 1 - design.weight,
    offset: design.weight * (design.shift ?? 0),
    rest: false,
  };
  return memoryOf(chart, design.autocorrelation).length;
}

/**
 * Average run length of a Shewhart chart of autocorrelated values with limits `limitSigmas` standard deviations of the
 * values from the target. Unlike memory charts it hardly notices autocorrelation.
 *
 * @see Kramer & Schmid (2000), Statistical Papers 41, 173-196.
 */
export function shewhartRunLengthAutocorrelated(
  design: { readonly limitSigmas: number } & AutocorrelatedValues,
): number {
  const { limitSigmas, autocorrelation: phi, shift = 0 } = design;
  assert(Math.abs(phi) < 1 && limitSigmas > 0, 'autocorrelation lies between -1 and 1');
  const innovation = Math.sqrt(1 - phi * phi);
  // Only where values occur at all: far beyond the data the equation would be asked about nothing.
  const interval = { low: Math.max(-limitSigmas - shift, -9), high: Math.min(limitSigmas - shift, 9) };
  if (interval.low >= interval.high) return 1;
  const rule = gaussLegendre(
    Math.min(160, Math.ceil(20 + (5 * (interval.high - interval.low)) / innovation)),
    interval,
  );
  const size = rule.nodes.length;
  const system = new Float64Array(size * size);
  for (const [i, from] of rule.nodes.entries()) {
    for (const [j, to] of rule.nodes.entries()) {
      const mass = (at(rule.weights, j) / innovation) * normalDensity((to - phi * from) / innovation);
      system[i * size + j] = (i === j ? 1 : 0) - mass;
    }
  }
  const lengths = solveSquare(system, new Float64Array(size).fill(1));
  return (
    1 +
    dot(
      rule.nodes.map((x, j) => at(rule.weights, j) * normalDensity(x)),
      lengths,
    )
  );
}
