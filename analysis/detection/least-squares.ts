import { assert } from '../../schemas/assert.ts';
import { studentQuantile } from '../statistics/student.ts';
import { at, dot, type Matrix, solveLeastSquares } from './linear-algebra.ts';

/** A fitted linear model as plain data; enough to predict from, without the rows it was fitted to. */
export type LinearModel = {
  /** Whether the first coefficient is a constant term, which the rows given to {@link predict} do not carry. */
  readonly intercept: boolean;
  readonly coefficients: readonly number[];
  /** Covariance of the coefficients. */
  readonly covariance: Matrix;
  /** Standard deviation of one observation about the model, in the unit of the response. */
  readonly residualSd: number;
  /** Rows (by weight above zero) less coefficients. */
  readonly degreesOfFreedom: number;
};

/** A linear model with what the fit says about the rows themselves. */
export type LinearFit = LinearModel & {
  readonly standardErrors: readonly number[];
  readonly residuals: readonly number[];
  /** Weighted sum of squared residuals. */
  readonly residualSumOfSquares: number;
  /** Share of the variation explained: about the mean with an intercept, about zero without; `undefined` when there is none. */
  readonly rSquared: number | undefined;
};

/** Rows of predictors (without the constant), their responses, and how to fit. */
export type RegressionData = {
  readonly rows: Matrix;
  readonly responses: readonly number[];
  /** Default true. */
  readonly intercept?: boolean;
};

/** The row with a leading 1 when the model has an intercept. */
export function designRow(row: readonly number[], intercept: boolean): number[] {
  return intercept ? [1, ...row] : [...row];
}

/**
 * Ordinary or weighted least squares by orthogonal reflections.
 *
 * @param data.rows - Predictors by row, all finite; one length.
 * @param data.weights - Zero or above, one a row: the inverse of the relative variance. A row of weight 0 is left out.
 * @returns The fit; `undefined` when no more rows than coefficients carry weight, or when the predictors depend on each other.
 * @throws AssertionError when rows, responses and weights differ in number.
 * @see NIST Statistical Reference Datasets, linear regression, for the certified values it is checked against.
 * @example leastSquares({ rows: [[0], [1], [2]], responses: [1, 3, 5.3] })?.coefficients // => [0.95, 2.15]
 */
export function leastSquares(data: RegressionData & { readonly weights?: readonly number[] }): LinearFit | undefined {
  const { rows, responses, intercept = true, weights } = data;
  assert(
    rows.length === responses.length && (weights === undefined || weights.length === rows.length),
    'every row has a response and a weight',
  );
  const design = rows.map((row) => designRow(row, intercept));
  const columns = design[0]?.length ?? 0;
  const roots = weights?.map(Math.sqrt);
  const used = roots === undefined ? rows.length : roots.filter((root) => root > 0).length;
  const degreesOfFreedom = used - columns;
  if (columns === 0 || degreesOfFreedom < 1) return undefined;
  const weighted = roots === undefined ? design : design.map((row, i) => row.map((value) => value * at(roots, i)));
  const right = roots === undefined ? responses : responses.map((y, i) => y * at(roots, i));
  const solved = solveLeastSquares(weighted, right);
  if (solved === undefined) return undefined;
  const variance = solved.residualSumOfSquares / degreesOfFreedom;
  const covariance = solved.inverseProduct.map((row) => row.map((value) => value * variance));
  return {
    intercept,
    coefficients: solved.solution,
    covariance,
    residualSd: Math.sqrt(variance),
    degreesOfFreedom,
    standardErrors: covariance.map((row, i) => Math.sqrt(at(row, i))),
    residuals: design.map((row, i) => at(responses, i) - dot(row, solved.solution)),
    residualSumOfSquares: solved.residualSumOfSquares,
    rSquared: rSquared({ responses, intercept, ...(weights && { weights }), residual: solved.residualSumOfSquares }),
  };
}

function rSquared(p: {
  responses: readonly number[];
  weights?: readonly number[];
  intercept: boolean;
  residual: number;
}): number | undefined {
  const weight = (i: number) => (p.weights === undefined ? 1 : at(p.weights, i));
  let [sum, total] = [0, 0];
  for (const [i, y] of p.responses.entries()) {
    sum += weight(i) * y;
    total += weight(i);
  }
  const centre = p.intercept ? sum / total : 0;
  let variation = 0;
  for (const [i, y] of p.responses.entries()) variation += weight(i) * (y - centre) ** 2;
  return variation > 0 ? 1 - p.residual / variation : undefined;
}

/** What a model expects at a row of predictors, and how sure it is. */
export type Prediction = {
  readonly mean: number;
  /** Standard error of the mean itself: what the learning data leave open. */
  readonly meanStandardError: number;
  /** Standard deviation of one new observation about `mean`: the above and the scatter together. */
  readonly predictionStandardError: number;
};

/**
 * The expected response at a row of predictors with its two standard errors.
 *
 * @param model - From {@link leastSquares} or a robust regression.
 * @param row - Predictors, in the order of the rows the model was fitted to, without the constant.
 * @throws AssertionError when the row has another length than the model.
 */
export function predict(model: LinearModel, row: readonly number[]): Prediction {
  const full = designRow(row, model.intercept);
  const mean = dot(full, model.coefficients);
  let variance = 0;
  for (const [i, x] of full.entries()) variance += x * dot(model.covariance[i] ?? [], full);
  // Rounding may leave a hair below zero where the variance is zero.
  const meanVariance = Math.max(0, variance);
  return {
    mean,
    meanStandardError: Math.sqrt(meanVariance),
    predictionStandardError: Math.sqrt(meanVariance + model.residualSd ** 2),
  };
}

/**
 * Two-sided intervals of the mean and of one new observation at a row of predictors, for independent normal residuals.
 *
 * @param p.confidence - Between 0 and 1, both excluded.
 */
export function predictionInterval(
  model: LinearModel,
  p: { row: readonly number[]; confidence: number },
): Prediction & {
  readonly meanInterval: readonly [number, number];
  readonly observationInterval: readonly [number, number];
} {
  const prediction = predict(model, p.row);
  const factor = studentQuantile(0.5 + p.confidence / 2, model.degreesOfFreedom);
  const around = (error: number) => [prediction.mean - factor * error, prediction.mean + factor * error] as const;
  return {
    ...prediction,
    meanInterval: around(prediction.meanStandardError),
    observationInterval: around(prediction.predictionStandardError),
  };
}
