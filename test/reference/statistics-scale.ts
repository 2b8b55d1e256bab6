import { hampelFilter } from '../../analysis/detection/hampel.ts';
import { median, type QuantileType, quantile } from '../../analysis/detection/quantiles.ts';
import {
  IQR_TO_SIGMA,
  interquartileRange,
  MAD_TO_SIGMA,
  medianAbsoluteDeviation,
  NORMAL_UPPER_QUARTILE,
  robustSigma,
  standardDeviation,
} from '../../analysis/detection/robust-scale.ts';
import type { ReferenceAdapter, ReferenceCase } from './case.ts';
import {
  answer,
  type Figures,
  isNumbers,
  numberOf,
  numbersOf,
  optionalNumber,
  over,
  positionsWhere,
} from './statistics-inputs.ts';

const QUANTILE_TYPES: readonly QuantileType[] = [1, 2, 3, 4, 5, 6, 7, 8, 9];
/** Printed factor from median absolute deviation to standard deviation. */
const PRINTED_MAD_FACTOR = 1.4826;

/** Quantiles, robust spread and the Hampel filter. */
export const scaleAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs } = referenceCase;
  if (inputs['nsigma'] !== undefined) return answer(referenceCase, hampelFigures(inputs));
  const factor = optionalNumber(inputs, 'constant');
  const series = inputs['x'] ?? inputs['residuals'] ?? inputs['values'];
  // A list of lists asks the same of each.
  const each = (f: (values: readonly number[]) => unknown) => () =>
    Array.isArray(series) && !isNumbers(series)
      ? series.map((values) => f(numbersOf({ values }, 'values')))
      : f(numbersOf({ series }, 'series'));
  const scaled = (by: number) => each((values) => by * (medianAbsoluteDeviation(values) ?? Number.NaN));
  return answer(referenceCase, {
    ...Object.fromEntries(
      QUANTILE_TYPES.map((type) => [
        `type${type}`,
        () => over(inputs['p'], (p) => quantile(numbersOf(inputs, 'x', 'values'), p, type)),
      ]),
    ),
    sigma: scaled(factor ?? MAD_TO_SIGMA),
    mad: each((values) => medianAbsoluteDeviation(values)),
    median: each(median),
    madAboutMedian: each((values) => medianAbsoluteDeviation(values)),
    sigma14826: scaled(PRINTED_MAD_FACTOR),
    sigmaStatsmodels: each((values) => robustSigma(values)),
    sigmaAboutZero: each((values) => robustSigma(values, 0)),
    iqrType7: each(interquartileRange),
    sigmaIqr: each((values) => IQR_TO_SIGMA * (interquartileRange(values) ?? Number.NaN)),
    sd: each((values) => standardDeviation(values)),
    madFactor: () => MAD_TO_SIGMA,
    iqrFactor: () => IQR_TO_SIGMA,
    z75: () => NORMAL_UPPER_QUARTILE,
  });
};

function hampelFigures(inputs: ReferenceCase['inputs']): Figures {
  const filtered = (ends: 'shorten' | 'leave') => () => {
    const result = hampelFilter(numbersOf(inputs, 'x', 'values'), {
      halfWidth: numberOf(inputs, 'k'),
      sigmas: numberOf(inputs, 'nsigma'),
      ends,
      madToSigma: optionalNumber(inputs, 'constant') ?? PRINTED_MAD_FACTOR,
    });
    return {
      filtered: result.map(({ value }) => value),
      replaced: positionsWhere(result, ({ replaced }) => replaced),
      median: result.map((value) => value.median),
      sigma: result.map(({ sigma }) => sigma),
    };
  };
  return { truncate: filtered('shorten'), keep: filtered('leave') };
}
