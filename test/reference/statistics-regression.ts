import {
  type LinearFit,
  leastSquares,
  predictionInterval,
  type RegressionData,
} from '../../analysis/detection/least-squares.ts';
import { at } from '../../analysis/detection/linear-algebra.ts';
import {
  BISQUARE,
  HUBER,
  type RobustFit,
  type RobustWeight,
  robustRegression,
  robustWeight,
} from '../../analysis/detection/robust-regression.ts';
import { huberLocation, medianAbsoluteDeviation } from '../../analysis/detection/robust-scale.ts';
import { trimmedLeastSquares } from '../../analysis/detection/trimmed-least-squares.ts';
import type { ReferenceAdapter, ReferenceCase } from './case.ts';
import {
  answer,
  type Figures,
  fromOne,
  InputMissing,
  numbersOf,
  optionalNumber,
  over,
  positionsWhere,
  rowsOf,
  says,
} from './statistics-inputs.ts';

/** Printed factor from median absolute deviation to standard deviation. */
const PRINTED_MAD_FACTOR = 1.4826;

/** Rows and responses: a table X with y, powers of x with y, or rows that begin with y. */
function dataOf(inputs: ReferenceCase['inputs']): RegressionData {
  const intercept = inputs['intercept'] !== false;
  const joined = Object.keys(inputs).find((key) => /^rowsY/i.test(key));
  if (joined !== undefined) {
    const rows = rowsOf(inputs, joined);
    return { rows: rows.map((row) => row.slice(1)), responses: rows.map((row) => at(row, 0)), intercept };
  }
  const responses = numbersOf(inputs, 'y');
  if (inputs['X'] !== undefined) return { rows: rowsOf(inputs, 'X'), responses, intercept };
  const degree = optionalNumber(inputs, 'degree') ?? 1;
  const rows = rowsOf(inputs, 'x', 't').map((row) =>
    row.length > 1 ? row : Array.from({ length: degree }, (_, power) => at(row, 0) ** (power + 1)),
  );
  return { rows, responses, intercept };
}

function fitFigures(fitted: () => LinearFit | undefined): Figures {
  return {
    coefficients: () => fitted()?.coefficients,
    standardErrors: () => fitted()?.standardErrors,
    residualSd: () => fitted()?.residualSd,
    residuals: () => fitted()?.residuals,
    r2: () => fitted()?.rSquared,
  };
}

/** Ordinary least squares and prediction from it. */
export const leastSquaresAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs } = referenceCase;
  const fitted = () => leastSquares(dataOf(inputs));
  const rows = () => rowsOf(inputs, 'newX', 'newx');
  const predictions = () =>
    rows().map((row) => {
      const model = fitted();
      if (model === undefined) throw new InputMissing('the data carry no fit');
      return predictionInterval(model, { row, confidence: optionalNumber(inputs, 'confidence') ?? 0.95 });
    });
  return answer(referenceCase, {
    ...fitFigures(fitted),
    mean: () => predictions().map((p) => p.mean),
    meanSe: () => predictions().map((p) => p.meanStandardError),
    obsSe: () => predictions().map((p) => p.predictionStandardError),
    meanLower: () => predictions().map((p) => p.meanInterval[0]),
    meanUpper: () => predictions().map((p) => p.meanInterval[1]),
    obsLower: () => predictions().map((p) => p.observationInterval[0]),
    obsUpper: () => predictions().map((p) => p.observationInterval[1]),
  });
};

/** M-estimates, least trimmed squares, weights and location. */
export const robustAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs, expected } = referenceCase;
  if (inputs['u'] !== undefined) {
    const weights = (weight: RobustWeight) => () => over(inputs['u'], (u) => robustWeight(u, weight));
    return answer(referenceCase, { huber: weights(HUBER), bisquare: weights(BISQUARE) });
  }
  if ('location' in expected) {
    const samples = Object.values(inputs).filter((value): value is number[] => Array.isArray(value));
    const scaleOf = (x: readonly number[]) => PRINTED_MAD_FACTOR * (medianAbsoluteDeviation(x) ?? Number.NaN);
    const tuning = optionalNumber(inputs, 'k') ?? 1.5;
    return answer(referenceCase, {
      location: () => samples.map((x) => huberLocation(x, { scale: scaleOf(x), tuning })),
      mad: () => samples.map(scaleOf),
    });
  }
  const data = dataOf(inputs);
  if ('bestSubset' in expected || 'sumOfHSmallestSquares' in expected || inputs['h'] !== undefined) {
    const fitted = () => trimmedLeastSquares(data, optionalNumber(inputs, 'h'));
    return answer(referenceCase, {
      coefficients: () => fitted()?.fit.coefficients,
      sumOfHSmallestSquares: () => fitted()?.sumOfSquares,
      bestSubset: () => fromOne(fitted()?.kept ?? []),
    });
  }
  return answer(referenceCase, { ...namedFits(data), ...flatFit(referenceCase, data) });
};

function mEstimate(data: RegressionData, weight: RobustWeight) {
  const fit = robustRegression(data, { weight });
  return (
    fit && {
      coefficients: fit.coefficients,
      scale: fit.residualSd,
      weights: fit.weights,
      residuals: fit.residuals,
      zeroWeightRows: zeroRows(fit),
    }
  );
}

function zeroRows(fit: RobustFit): number[] {
  return positionsWhere(fit.weights, (weight) => weight === 0);
}

function namedFits(data: RegressionData): Figures {
  return {
    ols: () =>
      Object.fromEntries(Object.entries(fitFigures(() => leastSquares(data))).map(([key, figure]) => [key, figure()])),
    huber: () => mEstimate(data, HUBER),
    bisquare: () => mEstimate(data, BISQUARE),
    lts: () => {
      const fit = trimmedLeastSquares(data);
      return (
        fit && {
          coefficients: fit.fit.coefficients,
          bestSubset: fromOne(fit.kept),
          sumOfHSmallestSquares: fit.sumOfSquares,
        }
      );
    },
  };
}

/** Which one estimate a case means that expects its figures without a name. */
function flatFit(referenceCase: ReferenceCase, data: RegressionData): Figures {
  const { inputs, expected } = referenceCase;
  const asksForScale = 'scale' in expected || 'weights' in expected || 'zeroWeightRows' in expected;
  if (asksForScale || says(referenceCase, /huber|bisquare|tukey|biweight/i)) {
    const fitted = () => mEstimate(data, says(referenceCase, /bisquare|tukey|biweight/i) ? BISQUARE : HUBER);
    return Object.fromEntries(
      (['coefficients', 'scale', 'weights', 'residuals', 'zeroWeightRows'] as const).map((key) => [
        key,
        () => fitted()?.[key],
      ]),
    );
  }
  const outliers = inputs['outliers'] === undefined ? [] : numbersOf(inputs, 'outliers');
  const weights = data.responses.map((_, i) => (outliers.includes(i + 1) ? 0 : 1));
  return fitFigures(() => leastSquares({ ...data, weights }));
}
