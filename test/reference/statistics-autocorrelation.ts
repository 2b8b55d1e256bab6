import {
  autocorrelations,
  effectiveSampleSize,
  effectiveSampleSizeLong,
  lagOneAutocorrelation,
} from '../../analysis/detection/autocorrelation.ts';
import { mean, standardDeviation } from '../../analysis/detection/robust-scale.ts';
import {
  cusumRunLengthAutocorrelated,
  cusumRunLengthOneSidedAutocorrelated,
  ewmaRunLengthAutocorrelated,
  shewhartRunLengthAutocorrelated,
} from '../../analysis/detection/run-length-autocorrelated.ts';
import { cusumRunLength } from '../../analysis/detection/run-length-cusum.ts';
import { ewmaRunLength } from '../../analysis/detection/run-length-ewma.ts';
import { solveCusumLimit, solveEwmaLimit } from '../../analysis/detection/solve-limit.ts';
import type { ReferenceAdapter, ReferenceCase } from './case.ts';
import {
  answer,
  type Figures,
  InputMissing,
  inParallel,
  numberOf,
  numbersOf,
  optionalNumber,
  over,
} from './statistics-inputs.ts';

/** Autocorrelation of a series, and run lengths on autocorrelated values. */
export const autocorrelationAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs } = referenceCase;
  if (inputs['x'] !== undefined) return answer(referenceCase, seriesFigures(inputs));
  if (inputs['n'] !== undefined) {
    const sizes = (f: (n: number, phi: number) => number) => () =>
      inParallel({ n: inputs['n'], phi: inputs['phi'] }, ({ n = 0, phi = 0 }) => f(n, phi));
    return answer(referenceCase, {
      nEffective: sizes(effectiveSampleSize),
      largeNApproximation: sizes(effectiveSampleSizeLong),
    });
  }
  return answer(referenceCase, {
    arl: () => over(inputs['phi'], (phi) => runLengthOf(inputs, phi)),
    ...limitFigures(inputs),
  });
};

function seriesFigures(inputs: ReferenceCase['inputs']): Figures {
  const values = () => numbersOf(inputs, 'x');
  const lags = optionalNumber(inputs, 'lags') ?? 1;
  return {
    mean: () => mean(values()),
    sd: () => standardDeviation(values()),
    r1: () => lagOneAutocorrelation(values()),
    acf: () => autocorrelations(values(), lags)?.slice(1),
  };
}

/** Numbers of a chart described by an object among the inputs. */
function chartOf(inputs: ReferenceCase['inputs'], key: string): Readonly<Record<string, unknown>> | undefined {
  const chart = inputs[key];
  return typeof chart === 'object' && chart !== null ? (chart as Readonly<Record<string, unknown>>) : undefined;
}

function runLengthOf(inputs: ReferenceCase['inputs'], phi: number): unknown {
  const shifts = inputs['shift'] ?? inputs['mu'] ?? 0;
  if (inputs['c'] !== undefined || inputs['L'] !== undefined) {
    const limitSigmas = numberOf(inputs, 'c', 'L');
    return over(shifts, (shift) => shewhartRunLengthAutocorrelated({ limitSigmas, autocorrelation: phi, shift }));
  }
  const isPreWhitened = inputs['prewhiten'] === true;
  // Our functions count in standard deviations of the values; 'innovation' counts in those of their fresh part.
  const unit = inputs['unit'] === 'innovation' && !isPreWhitened ? Math.sqrt(1 - phi * phi) : 1;
  return over(shifts, (shift) => {
    const sums = chartOf(inputs, 'twoSidedCusum') ?? chartOf(inputs, 'oneSidedCusum') ?? chartOf(inputs, 'cusum');
    if (sums !== undefined) {
      const design = {
        referenceValue: unit * numberOf(sums, 'k'),
        decisionInterval: unit * numberOf(sums, 'h'),
        shift: unit * shift,
      };
      // What pre-whitening leaves of a lasting shift is its (1 - phi)th part.
      if (isPreWhitened) return cusumRunLength({ ...design, shift: shift * (1 - phi) });
      const length =
        inputs['oneSidedCusum'] === undefined ? cusumRunLengthAutocorrelated : cusumRunLengthOneSidedAutocorrelated;
      return length({ ...design, autocorrelation: phi });
    }
    const average = chartOf(inputs, 'ewma');
    if (average === undefined) throw new InputMissing('the case describes no chart that we know');
    const design = { weight: numberOf(average, 'lambda'), limitSigmas: unit * numberOf(average, 'L') };
    if (isPreWhitened) return ewmaRunLength({ ...design, shift: shift * (1 - phi) });
    return ewmaRunLengthAutocorrelated({ ...design, autocorrelation: phi, shift: unit * shift });
  });
}

function limitFigures(inputs: ReferenceCase['inputs']): Figures {
  const wanted = (f: (averageRunLength: number, autocorrelation: number) => number) => () =>
    over(inputs['arl0'], (arl0) => over(inputs['phi'], (phi) => f(arl0, phi)));
  return {
    h: wanted((averageRunLength, autocorrelation) =>
      solveCusumLimit({ referenceValue: numberOf(inputs, 'k'), averageRunLength, autocorrelation }),
    ),
    L: wanted((averageRunLength, autocorrelation) =>
      solveEwmaLimit({ weight: numberOf(inputs, 'lambda'), averageRunLength, autocorrelation }),
    ),
  };
}
