import { assert } from '../../schemas/assert.ts';
import { rootBetween } from '../statistics/root.ts';
import { cusumRunLengthOneSidedAutocorrelated, ewmaRunLengthAutocorrelated } from './run-length-autocorrelated.ts';
import { cusumRunLength, cusumRunLengthOneSided, siegmundRunLength } from './run-length-cusum.ts';
import { ewmaRunLength } from './run-length-ewma.ts';

/** Autocorrelation nearer to zero than this changes no limit by what a planner would notice. */
const NEGLIGIBLE_AUTOCORRELATION = 0.005;
/** The secant search stops when the run length is met to this share. */
const RUN_LENGTH_SHARE = 0.003;
const MAX_SECANT_STEPS = 60;
/** Two limits nearer to each other than this are the same limit. */
const STEP_SHARE = 1e-5;

/**
 * The average number of points between false findings on one chart that gives a fleet the wished rate of them.
 *
 * @param p.findingsPer100UnitsAndWeek - False findings that are accepted, above zero.
 * @param p.pointsPerWeek - Points that one chart is fed a week, above zero.
 * @param p.chartsPerUnit - Charts that watch one unit, 1 or more. Charts that alarm together make this cautious.
 * @throws AssertionError outside those ranges.
 * @example averageRunLengthFromFalseAlarmRate({ findingsPer100UnitsAndWeek: 1, pointsPerWeek: 50, chartsPerUnit: 4 }) // => 20000
 */
export function averageRunLengthFromFalseAlarmRate(p: {
  findingsPer100UnitsAndWeek: number;
  pointsPerWeek: number;
  chartsPerUnit: number;
}): number {
  assert(
    p.findingsPer100UnitsAndWeek > 0 && p.pointsPerWeek > 0 && p.chartsPerUnit >= 1,
    'a false-alarm rate, points and charts are above zero',
  );
  return (100 * p.pointsPerWeek * p.chartsPerUnit) / p.findingsPer100UnitsAndWeek;
}

/**
 * The decision interval of a CUSUM that gives the wished average run length on healthy values.
 *
 * @param p.referenceValue - In standard deviations of the values, above zero.
 * @param p.averageRunLength - Samples between false signals, 2 or more.
 * @param p.twoSided - Whether both sums may signal. Default true.
 * @param p.autocorrelation - Correlation of neighbouring values, from -0.95 to 0.95; 0 unless given. A positive one
 *   needs a much wider interval: at 0.5 some three times as wide.
 * @returns In standard deviations of the values. The run length is met to 0.1 % for independent values, to 1 % else.
 *   Cheap up to an autocorrelation of 0.6; beyond 0.8 it takes seconds, and thinning the values is the better cure.
 * @throws AssertionError outside those ranges.
 * @example solveCusumLimit({ referenceValue: 0.5, averageRunLength: 370.4 }) // => 4.7749
 */
export function solveCusumLimit(p: {
  referenceValue: number;
  averageRunLength: number;
  twoSided?: boolean;
  autocorrelation?: number;
}): number {
  const { referenceValue, averageRunLength, twoSided = true, autocorrelation = 0 } = p;
  assert(
    averageRunLength >= 2 && referenceValue > 0 && Math.abs(autocorrelation) <= 0.95,
    'a CUSUM limit is asked for within its ranges',
  );
  const target = Math.log(averageRunLength);
  // A sum of correlated values spreads as one of independent values with this standard deviation would.
  const longRunSd = Math.sqrt((1 + autocorrelation) / (1 - autocorrelation));
  const sides = twoSided ? 2 : 1;
  const closedForm = (limit: number) =>
    Math.log(siegmundRunLength({ referenceValue: referenceValue / longRunSd, decisionInterval: limit }) / sides) -
    target;
  let high = 1;
  while (closedForm(high) < 0) high *= 2;
  const independentStart =
    longRunSd * (closedForm(0) < 0 ? rootBetween(closedForm, { low: 0, high, tolerance: 0.001 }) : 0.1);
  // The closed form overshoots as independent values do; correlated ones overshoot further. Found by trial, for a start only.
  const start = Math.max(independentStart / 2, independentStart - (2.3 * autocorrelation) / (1 - autocorrelation));
  const slope = (2 * referenceValue) / longRunSd ** 2;
  if (Math.abs(autocorrelation) < NEGLIGIBLE_AUTOCORRELATION) {
    const runLength = twoSided ? cusumRunLength : cusumRunLengthOneSided;
    return secant((limit) => Math.log(runLength({ referenceValue, decisionInterval: limit })) - target, {
      start,
      slope,
      share: 1e-7,
    });
  }
  // By symmetry each side signals half as often; that a side has a head start after the other's signal is left out (a sample or two).
  const gap = (limit: number) =>
    Math.log(
      cusumRunLengthOneSidedAutocorrelated({ referenceValue, decisionInterval: limit, autocorrelation }) / sides,
    ) - target;
  return secant(gap, { start, slope, share: RUN_LENGTH_SHARE });
}

/**
 * The limits of a two-sided EWMA chart, in standard deviations of the average of independent values, that give the
 * wished average run length on healthy values.
 *
 * @param p.weight - Weight of the newest value, above 0 to 1.
 * @param p.averageRunLength - Samples between false signals, 2 or more.
 * @param p.autocorrelation - Correlation of neighbouring values, from -0.95 to 0.95; 0 unless given.
 * @throws AssertionError outside those ranges.
 * @example solveEwmaLimit({ weight: 0.2, averageRunLength: 370.4 }) // => 2.8593
 */
export function solveEwmaLimit(p: { weight: number; averageRunLength: number; autocorrelation?: number }): number {
  const { weight, averageRunLength, autocorrelation = 0 } = p;
  assert(averageRunLength >= 2 && Math.abs(autocorrelation) <= 0.95, 'an EWMA limit is asked for within its ranges');
  const target = Math.log(averageRunLength);
  const independent = secant((limitSigmas) => Math.log(ewmaRunLength({ weight, limitSigmas })) - target, {
    start: 2.8,
    slope: 2.8,
    share: 1e-7,
  });
  if (Math.abs(autocorrelation) < NEGLIGIBLE_AUTOCORRELATION) return independent;
  // The average of correlated values spreads more by this factor (Schmid 1997, in Frontiers in Statistical Quality Control 5).
  const kept = autocorrelation * (1 - weight);
  const start = independent * Math.sqrt((1 + kept) / (1 - kept));
  return secant(
    (limitSigmas) => Math.log(ewmaRunLengthAutocorrelated({ weight, limitSigmas, autocorrelation })) - target,
    {
      start,
      slope: independent * (independent / start),
      share: RUN_LENGTH_SHARE,
    },
  );
}

/**
 * Root of a rising, nearly straight function above zero; `share` is how near to zero the function must come, `slope` a
 * first guess of its slope. A run length that is worked out on a grid has small steps: where the root lies within one,
 * the search ends on the step, whose place is then known far better than anybody needs.
 */
function secant(gap: (limit: number) => number, p: { start: number; slope: number; share: number }): number {
  let [now, gapNow, slope] = [p.start, gap(p.start), p.slope];
  let [low, high] = [0, Number.POSITIVE_INFINITY];
  for (let i = 0; i < MAX_SECANT_STEPS && Math.abs(gapNow) > p.share; i++) {
    if (gapNow < 0) low = Math.max(low, now);
    else high = Math.min(high, now);
    if (high - low <= STEP_SHARE * now) return now;
    // Never below half, never above double: far from the root the function is not straight.
    const guess = Math.min(Math.max(now - gapNow / slope, now / 2), now * 2);
    const next = guess > low && guess < high ? guess : (low + high) / 2;
    const gapNext = gap(next);
    if (gapNext !== gapNow) slope = (gapNext - gapNow) / (next - now);
    [now, gapNow] = [next, gapNext];
  }
  assert(Math.abs(gapNow) <= p.share, 'the limit for a run length is found');
  return now;
}
