import { assert } from '../../schemas/assert.ts';
import { JUDGING } from '../limits.ts';
import { choleskyFactor, choleskySolve, forwardSolve } from './cholesky.ts';
import type { Drivers } from './drivers.ts';
import type { FeatureSet } from './features.ts';
import { ascending, medianOfSorted } from './quantiles.ts';
import { significant } from './significant.ts';

/** Huber's tuning constant: 95 % efficiency on normal errors (Huber, Robust Statistics, 1981). */
const HUBER = 1.345;
/** Converts a median absolute deviation to a standard deviation of normal errors. */
const MAD_TO_SD = 1.4826;
const ITERATIONS = 8;

/**
 * What a healthy unit shows on one channel: a Bayesian linear regression, with the spread of its residuals. Plain JSON.
 */
export type Expectation = {
  readonly coefficients: readonly number[];
  /** Cholesky factor of the posterior precision of the coefficients, rows of the lower triangle. */
  readonly factor: readonly (readonly number[])[];
  /** Precision-weighted sum of features times values, from which the coefficients are solved again when points join. */
  readonly moment: readonly number[];
  /** Standard deviation of one point about the expectation. */
  readonly pointSd: number;
  /** Standard deviation and lag-1 autocorrelation of one tick (an hour's mean) about the expectation, out of sample. */
  readonly tickSd: number;
  readonly tickCorrelation: number;
  /** Load and speed seen, shares of rated. */
  readonly envelope: { readonly load: readonly [number, number]; readonly speed: readonly [number, number] };
  readonly points: number;
};

/** One point to learn from: its drivers, the value the channel showed, and the running hour it fell into. */
export type LearningPoint = { readonly drivers: Drivers; readonly value: number; readonly hour: number };

/** Expected value and the variance of that expectation, both in the channel's unit. */
export type Prediction = { readonly expected: number; readonly variance: number };

/**
 * Expected value of a channel at a feature vector.
 *
 * @param expectation - A learnt expectation.
 * @param features - From the same feature set that it was learnt with.
 * @returns The expected value with the variance that the unit's limited learning leaves in it.
 */
export function predict(expectation: Expectation, features: Float64Array): Prediction {
  assert(features.length === expectation.coefficients.length, 'features and coefficients belong together');
  let expected = 0;
  for (let i = 0; i < features.length; i += 1)
    expected += (features[i] as number) * (expectation.coefficients[i] as number);
  const y = forwardSolve(expectation.factor, features);
  let variance = 0;
  for (const value of y) variance += value * value;
  return { expected, variance };
}

/**
 * Whether a point lies in the envelope in which the expectation may be used: load and speed within what was seen (and a
 * small margin), and every other driver such that the expectation is surer than a single point.
 */
export function isInEnvelope(expectation: Expectation, drivers: Drivers, prediction: Prediction): boolean {
  const margin = JUDGING.envelopeMarginRatio;
  const within = ([low, high]: readonly [number, number], value: number) =>
    value >= low - margin && value <= high + margin;
  return (
    within(expectation.envelope.speed, drivers.speed) &&
    (drivers.load === undefined || within(expectation.envelope.load, drivers.load)) &&
    Math.sqrt(prediction.variance) <= JUDGING.maxPredictionSdRatio * expectation.pointSd
  );
}

/**
 * Learns an expectation by robust Bayesian regression: Huber weights against odd points, a prior against collinear
 * drivers (a ship that never leaves sea level tells nothing about altitude, and the prediction variance says so).
 *
 * @param points - Points of a healthy unit.
 * @param features - Feature set of the channel.
 * @param span - What the channel moves through between idle and full load, in its unit; scales the prior.
 * @param minSd - Smallest believable spread of a point, from the sensor.
 * @returns The expectation, `tickSd` and `tickCorrelation` not yet known and set to the spread of a point and 0; or
 *   `undefined` when a point lacks a driver.
 */
export function learnExpectation(p: {
  readonly points: readonly LearningPoint[];
  readonly features: FeatureSet;
  readonly span: number;
  readonly minSd: number;
}): Expectation | undefined {
  const rows: Float64Array[] = [];
  for (const point of p.points) {
    const row = p.features.values(point.drivers);
    if (row === undefined) return undefined;
    rows.push(row);
  }
  const values = p.points.map((point) => point.value);
  const prior = p.features.precision.map((row) => row.map((value) => value / (p.span * p.span)));
  let sd = Math.max(p.minSd, p.span * 0.05);
  let weights = values.map(() => 1);
  let fit = solve({ rows, values, weights, sd, prior });
  for (let iteration = 0; iteration < ITERATIONS; iteration += 1) {
    const residuals = values.map((value, i) => value - dot(rows[i] as Float64Array, fit.coefficients));
    sd = Math.max(p.minSd, MAD_TO_SD * medianOfSorted(ascending(residuals.map(Math.abs))));
    weights = residuals.map((residual) => Math.min(1, (HUBER * sd) / Math.max(Math.abs(residual), 1e-12)));
    fit = solve({ rows, values, weights, sd, prior });
  }
  const range = (read: (d: Drivers) => number): readonly [number, number] => {
    const all = p.points.map((point) => read(point.drivers));
    return [Math.min(...all), Math.max(...all)];
  };
  return {
    ...fit,
    pointSd: round(sd),
    tickSd: round(sd),
    tickCorrelation: 0,
    envelope: { load: range((d) => d.load ?? 0), speed: range((d) => d.speed) },
    points: p.points.length,
  };
}

/**
 * Lets one more healthy point join the expectation. Used only where the expectation is still unsure (a new season, a
 * new height), never where it is sure, so that slow ageing cannot be learnt away.
 *
 * @returns A new expectation with the same spreads and an envelope that holds the point.
 */
export function extendExpectation(
  expectation: Expectation,
  point: { features: Float64Array; value: number; drivers: Drivers },
): Expectation {
  const weight = 1 / (expectation.pointSd * expectation.pointSd);
  const size = point.features.length;
  const precision = multiplyFactor(expectation.factor);
  const moment = [...expectation.moment];
  for (let i = 0; i < size; i += 1) {
    const row = precision[i] as number[];
    const xi = point.features[i] as number;
    for (let j = 0; j <= i; j += 1) row[j] = (row[j] as number) + weight * xi * (point.features[j] as number);
    moment[i] = (moment[i] as number) + weight * xi * point.value;
  }
  const factor = choleskyFactor(precision);
  const widen = ([low, high]: readonly [number, number], value: number): readonly [number, number] => [
    Math.min(low, value),
    Math.max(high, value),
  ];
  return {
    ...expectation,
    coefficients: choleskySolve(factor, moment).map(round),
    factor: lowerTriangle(factor),
    moment: moment.map(round),
    envelope: {
      load: widen(expectation.envelope.load, point.drivers.load ?? 0),
      speed: widen(expectation.envelope.speed, point.drivers.speed),
    },
    points: expectation.points + 1,
  };
}

function solve(p: {
  rows: readonly Float64Array[];
  values: readonly number[];
  weights: readonly number[];
  sd: number;
  prior: readonly (readonly number[])[];
}) {
  const size = p.prior.length;
  const precision = p.prior.map((row) => [...row]);
  const moment = new Array<number>(size).fill(0);
  for (let k = 0; k < p.rows.length; k += 1) {
    const x = p.rows[k] as Float64Array;
    const weight = (p.weights[k] as number) / (p.sd * p.sd);
    for (let i = 0; i < size; i += 1) {
      const xi = x[i] as number;
      if (xi === 0) continue;
      const row = precision[i] as number[];
      for (let j = 0; j <= i; j += 1) row[j] = (row[j] as number) + weight * xi * (x[j] as number);
      moment[i] = (moment[i] as number) + weight * xi * (p.values[k] as number);
    }
  }
  const factor = choleskyFactor(precision);
  return {
    coefficients: choleskySolve(factor, moment).map(round),
    factor: lowerTriangle(factor),
    moment: moment.map(round),
  };
}

function multiplyFactor(factor: readonly (readonly number[])[]): number[][] {
  return factor.map((row, i) =>
    factor.slice(0, i + 1).map((other, j) => {
      let sum = 0;
      for (let k = 0; k <= j; k += 1) sum += (row[k] as number) * (other[k] as number);
      return sum;
    }),
  );
}

function lowerTriangle(factor: readonly (readonly number[])[]): number[][] {
  return factor.map((row, i) => row.slice(0, i + 1).map(round));
}

/** Nine digits: enough for any sensor, and a state that stays small when written down. Rounded when made, never when stored. */
function round(value: number): number {
  return significant(value, 9);
}

function dot(x: Float64Array, coefficients: readonly number[]): number {
  let sum = 0;
  for (let i = 0; i < x.length; i += 1) sum += (x[i] as number) * (coefficients[i] as number);
  return sum;
}
