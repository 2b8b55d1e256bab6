import { chiSquaredQuantile } from '../statistics/chi-squared.ts';
import { normalQuantile, normalTwoSidedTail } from '../statistics/normal.ts';
import { gaussLegendre } from '../statistics/quadrature.ts';
import { at } from './linear-algebra.ts';
import { cusumSurvival, oneSidedSurvival } from './run-length-cusum.ts';

/** Nodes a side for the mean and for the spread that a finite baseline leaves open. */
const BASELINE_NODES = 10;

/** Probability that one healthy normal value falls outside `sigmas` standard deviations, on either side. */
export function shewhartFalseAlarmProbability(sigmas: number): number {
  return normalTwoSidedTail(sigmas);
}

/** Probability of at least one event in `samples` independent samples that each have it with probability `perSample`. */
export function probabilityWithin(samples: number, perSample: number): number {
  return -Math.expm1(samples * Math.log1p(-perSample));
}

/**
 * Probability that a two-sided CUSUM gives a false alarm within `samples` samples when target and standard deviation
 * were learnt from `baselineSize` healthy values: a short baseline, more than the chart, then decides.
 *
 * @param p.referenceValue - In learnt standard deviations.
 * @param p.decisionInterval - In learnt standard deviations.
 * @param p.baselineSize - Healthy values that were learnt from, 2 or more; `undefined` when target and spread are known.
 * @see Jones, Champ & Rigdon (2004), Technometrics 46, 158-171: CUSUM with estimated parameters.
 */
export function cusumFalseAlarmProbability(p: {
  referenceValue: number;
  decisionInterval: number;
  samples: number;
  baselineSize?: number | undefined;
}): number {
  const { baselineSize: size } = p;
  if (size === undefined) return 1 - cusumSurvival(p, p.samples);
  const rule = gaussLegendre(BASELINE_NODES, { low: 0, high: 1 });
  let survival = 0;
  for (const [i, spreadShare] of rule.nodes.entries()) {
    const spread = Math.sqrt(chiSquaredQuantile(spreadShare, size - 1) / (size - 1));
    const design = { referenceValue: p.referenceValue * spread, decisionInterval: p.decisionInterval * spread };
    const sides = rule.nodes.map((share) =>
      oneSidedSurvival({ ...design, shift: normalQuantile(share) / Math.sqrt(size) }, p.samples),
    );
    // The lower sum sees the opposite shift, and the nodes lie the same way about the middle.
    const both = sides.reduce((sum, side, j) => sum + at(rule.weights, j) * side * at(sides, sides.length - 1 - j), 0);
    survival += at(rule.weights, i) * both;
  }
  return 1 - survival;
}
