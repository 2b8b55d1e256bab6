import { mean } from '../../analysis/detection/robust-scale.ts';
import { deviationSums, pettitt, standardNormalHomogeneity } from '../../analysis/prognosis/change-point.ts';
import {
  bestChanges,
  binaryChanges,
  largestChangeF,
  penalisedChanges,
  segmentedSumOfSquares,
} from '../../analysis/prognosis/segments.ts';
import type { ReferenceAdapter, ReferenceCase } from './case.ts';
import { answer, type Figures, numberOf, numbersOf, optionalNumber } from './statistics-inputs.ts';

/** Change points, given as values before the change. */
export const changePointAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs, expected } = referenceCase;
  const values = numbersOf(inputs, 'x', 'y', 'values');
  const pettittFigures = () => {
    const test = pettitt(values);
    return test && { K: test.statistic, k: test.before, p: test.probability, U: test.path };
  };
  const isPettitt = 'K' in expected;
  const divisor = inputs['sdDivisor'] === 'n' ? 'n' : 'n-1';
  const sums = () => deviationSums(values, divisor);
  const before = () => {
    if (isPettitt) return pettitt(values)?.before;
    if ('supF' in expected) return supF(values, inputs)?.before;
    if ('rssOne' in expected) return bestChanges(values, 1, settingOf(inputs))?.[0];
    return sums()?.before;
  };
  return answer(referenceCase, {
    K: () => pettittFigures()?.K,
    U: () => (isPettitt || Array.isArray(expected['U']) ? pettittFigures()?.U : sums()?.squares),
    p: () => (isPettitt ? pettittFigures()?.p : sums()?.probability),
    k: before,
    pettitt: pettittFigures,
    meanBefore: () => mean(values.slice(0, before())),
    meanAfter: () => mean(values.slice(before())),
    rssNone: () => segmentedSumOfSquares(values, []),
    rssOne: () => segmentedSumOfSquares(values, bestChanges(values, 1, settingOf(inputs)) ?? []),
    supF: () => supF(values, inputs)?.statistic,
    sup: () => sums()?.distance,
    rangeOverSqrtN: () => sums()?.range,
    QoverSqrtN: () => sums()?.distance,
    S: () => sums()?.path,
    maxAbsS: () => sums()?.maximum,
    populationSd: () => deviationFigures(values, 'n'),
    sampleSd: () => deviationFigures(values, 'n-1'),
    snhtT: () => standardNormalHomogeneity(values)?.statistic,
    snhtK: () => standardNormalHomogeneity(values)?.before,
    ...segmentFigures(referenceCase, values),
  });
};

function supF(values: readonly number[], inputs: ReferenceCase['inputs']) {
  return largestChangeF(values, optionalNumber(inputs, 'trim') ?? 0.15);
}

function deviationFigures(values: readonly number[], divisor: 'n' | 'n-1') {
  const sums = deviationSums(values, divisor);
  return (
    sums && {
      QoverSqrtN: sums.distance,
      rangeOverSqrtN: sums.range,
      U: sums.squares,
      likelihoodRatioV: sums.likelihoodRatio,
    }
  );
}

function settingOf(inputs: ReferenceCase['inputs']) {
  const leastLength = optionalNumber(inputs, 'minSize');
  return leastLength === undefined ? {} : { leastLength };
}

/** Keys end in the number of changes, which is 1 when there is none. */
function segmentFigures({ inputs, expected }: ReferenceCase, values: readonly number[]): Figures {
  const figures: Record<string, () => unknown> = {
    pelt: () => penalisedChanges(values, numberOf(inputs, 'penalty'), settingOf(inputs)),
  };
  for (const key of Object.keys(expected)) {
    const parts = /^(dynp|binseg)(\d*)$/.exec(key);
    if (parts === null) continue;
    const count = parts[2] === '' ? 1 : Number(parts[2]);
    figures[key] = () =>
      parts[1] === 'dynp'
        ? bestChanges(values, count, settingOf(inputs))
        : binaryChanges(values, count, settingOf(inputs));
  }
  return figures;
}
