import { designRow, type LinearFit, leastSquares, type RegressionData } from './least-squares.ts';
import { at, dot } from './linear-algebra.ts';
import { robustSigma } from './robust-scale.ts';
import { trimmedLeastSquares } from './trimmed-least-squares.ts';

/** How much a residual counts, by its size in robust standard deviations. */
export type RobustWeight = {
  readonly kind: 'huber' | 'bisquare';
  /** Where the weight begins to fall (Huber) or has fallen to zero (bisquare). */
  readonly tuning: number;
};

/** 95 % efficiency on normal data; a wild value keeps a bounded pull. Holland & Welsch (1977). */
export const HUBER: RobustWeight = { kind: 'huber', tuning: 1.345 };

/** 95 % efficiency on normal data; a wild value loses all pull. Beaton & Tukey (1974), Holland & Welsch (1977). */
export const BISQUARE: RobustWeight = { kind: 'bisquare', tuning: 4.685 };

/** A robust fit: `residualSd` is the robust scale, `weights` say how much each row counted in the end (0 to 1). */
export type RobustFit = LinearFit & { readonly weights: readonly number[]; readonly converged: boolean };

const MAX_ITERATIONS = 200;
/** Converged when no residual moves by more than this share of the scale. */
const RESIDUAL_CHANGE = 1e-11;

/** Weight (0 to 1) of a residual of `u` robust standard deviations. */
export function robustWeight(u: number, { kind, tuning }: RobustWeight): number {
  const size = Math.abs(u) / tuning;
  if (kind === 'huber') return size <= 1 ? 1 : 1 / size;
  return size < 1 ? (1 - size * size) ** 2 : 0;
}

/** Derivative of psi(u) = u * weight(u). */
function psiSlope(u: number, { kind, tuning }: RobustWeight): number {
  const square = (u / tuning) ** 2;
  if (kind === 'huber') return square <= 1 ? 1 : 0;
  return square < 1 ? (1 - square) * (1 - 5 * square) : 0;
}

/**
 * Linear regression that a minority of wild rows cannot bend: M-estimation by iteratively reweighted least squares,
 * with the scale (median absolute residual about zero, as a standard deviation) found anew at each step.
 *
 * @param data - See {@link leastSquares}.
 * @param p.weight - {@link HUBER} or {@link BISQUARE} (default), or one with another tuning constant.
 * @param p.start - 'least-squares' (default) or 'trimmed': least trimmed squares, which also withstands wild rows with
 *   unusual predictors. The bisquare has several solutions, so its start is part of its definition.
 * @returns The fit with Huber's covariance of the coefficients; `undefined` when there is no starting fit. When more
 *   than half of the rows fit exactly the scale is 0 and the weights are those of the exact rows.
 * @see Huber & Ronchetti, Robust Statistics, sections 7.3 to 7.8 and eq. 7.81 (covariance); Rousseeuw & Leroy (1987),
 *   Robust Regression and Outlier Detection.
 */
export function robustRegression(
  data: RegressionData,
  p: { weight?: RobustWeight; start?: 'least-squares' | 'trimmed' } = {},
): RobustFit | undefined {
  const weight = p.weight ?? BISQUARE;
  const first = p.start === 'trimmed' ? trimmedLeastSquares(data)?.fit : leastSquares(data);
  if (first === undefined) return undefined;
  const intercept = data.intercept ?? true;
  const design = data.rows.map((row) => designRow(row, intercept));
  const residualsOf = (coefficients: readonly number[]) =>
    design.map((row, i) => at(data.responses, i) - dot(row, coefficients));
  let coefficients = first.coefficients;
  let residuals = residualsOf(coefficients);
  let converged = false;
  let [scale, weights] = scaleAndWeights(residuals, weight);
  for (let i = 0; i < MAX_ITERATIONS && !converged; i++) {
    const fit = leastSquares({ ...data, weights });
    if (fit === undefined) return undefined;
    coefficients = fit.coefficients;
    const moved = residualsOf(coefficients);
    const step = moved.reduce((most, residual, j) => Math.max(most, Math.abs(residual - at(residuals, j))), 0);
    residuals = moved;
    [scale, weights] = scaleAndWeights(residuals, weight);
    converged = step <= RESIDUAL_CHANGE * scale;
  }
  return describeFit(data, {
    coefficients,
    scale,
    weights,
    weight,
    converged,
    residuals,
    first,
  });
}

function scaleAndWeights(residuals: readonly number[], weight: RobustWeight): [number, number[]] {
  const scale = robustSigma(residuals, 0) ?? 0;
  if (scale > 0) return [scale, residuals.map((r) => robustWeight(r / scale, weight))];
  return [0, residuals.map((r) => (r === 0 ? 1 : 0))];
}

type Converged = {
  readonly coefficients: readonly number[];
  readonly scale: number;
  readonly weights: readonly number[];
  readonly weight: RobustWeight;
  readonly converged: boolean;
  readonly residuals: readonly number[];
  readonly first: LinearFit;
};

function describeFit(data: RegressionData, p: Converged): RobustFit {
  const rows = p.residuals.length;
  const columns = p.coefficients.length;
  const plain = leastSquares(data) ?? p.first;
  let [psiSquares, slopes, slopeSquares] = [0, 0, 0];
  for (const [i, residual] of p.residuals.entries()) {
    const u = p.scale > 0 ? residual / p.scale : 0;
    const slope = psiSlope(u, p.weight);
    psiSquares += (u * at(p.weights, i)) ** 2;
    slopes += slope;
    slopeSquares += slope * slope;
  }
  const meanSlope = slopes / rows;
  const slopeVariance = Math.max(0, slopeSquares / rows - meanSlope * meanSlope);
  const correction = 1 + ((columns / rows) * slopeVariance) / (meanSlope * meanSlope);
  const variance = (correction ** 2 * ((psiSquares * p.scale ** 2) / (rows - columns))) / (meanSlope * meanSlope);
  // The least-squares covariance is variance times the inverse product; take that inverse product back out of it.
  const plainVariance = plain.residualSd ** 2;
  const covariance = plain.covariance.map((row) =>
    row.map((value) => (plainVariance > 0 ? (value / plainVariance) * variance : 0)),
  );
  return {
    intercept: plain.intercept,
    coefficients: p.coefficients,
    covariance,
    residualSd: p.scale,
    degreesOfFreedom: rows - columns,
    standardErrors: covariance.map((row, i) => Math.sqrt(at(row, i))),
    residuals: p.residuals,
    residualSumOfSquares: dot(p.residuals, p.residuals),
    rSquared: undefined,
    weights: p.weights,
    converged: p.converged,
  };
}
