import { at } from '../../analysis/detection/linear-algebra.ts';
import { senSlopeInterval, theilSen } from '../../analysis/prognosis/theil-sen.ts';
import {
  type Crossing,
  fitTimeLine,
  type LimitQuestion,
  limitByInversion,
  limitBySen,
  limitByWald,
  slopeUncertainty,
  type TimeLine,
} from '../../analysis/prognosis/time-to-limit.ts';
import type { ReferenceAdapter, ReferenceCase } from './case.ts';
import { seededNormal } from './seeded-normal.ts';
import {
  answer,
  type Figures,
  InputMissing,
  inParallel,
  numberOf,
  numbersOf,
  optionalNumber,
  over,
  says,
} from './statistics-inputs.ts';

const REPLICATIONS = 4000;

/** When a trend meets a limit, with its interval. */
export const limitAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs, expected } = referenceCase;
  if ('coverage' in expected)
    return answer(referenceCase, { coverage: () => over(inputs['phi'] ?? 0, (phi) => coverage(inputs, phi)) });
  const times = numbersOf(inputs, 't', 'x');
  const values = numbersOf(inputs, 'y');
  const line = fitTimeLine(times, values);
  if (line === undefined) return { notCovered: 'no line goes through these values' };
  const isSen = 'slopeInterval' in expected || 'crossingInterval' in expected;
  return answer(
    referenceCase,
    isSen
      ? senFigures(inputs, { times, values })
      : lineFigures(referenceCase, { line, last: at(times, times.length - 1) }),
  );
};

type Interval = Record<
  'crossing' | 'lower' | 'upper' | 'timeToLimit' | 'timeToLimitLower' | 'timeToLimitUpper' | 'g',
  number | undefined
>;

function inversion(line: TimeLine, p: { question: LimitQuestion; last: number }): Interval {
  const found = limitByInversion(line, p.question);
  const after = (time: number | undefined) => (time === undefined ? undefined : time - p.last);
  // The check values give where the line meets the limit also when there is no interval, and so no forecast.
  const crossing = (p.question.limit - line.intercept) / line.slope;
  return {
    crossing,
    lower: found?.lower,
    upper: found?.upper,
    timeToLimit: after(crossing),
    timeToLimitLower: after(found?.lower),
    timeToLimitUpper: after(found?.upper),
    g: slopeUncertainty(line, p.question),
  };
}

function lineFigures(referenceCase: ReferenceCase, { line, last }: { line: TimeLine; last: number }): Figures {
  const { inputs, expected } = referenceCase;
  const asked = (f: (question: LimitQuestion) => unknown, crossing: Crossing) => () =>
    inParallel({ limit: inputs['limit'], confidence: inputs['confidence'] }, ({ limit = 0, confidence = 0 }) =>
      f({ limit, confidence, crossing, autocorrelation: optionalNumber(inputs, 'phi') ?? 0 }),
    );
  const byInversion = (crossing: Crossing) => asked((question) => inversion(line, { question, last }), crossing);
  const byWald = (crossing: Crossing) => asked((question) => named(line, question), crossing);
  const isMean = says(referenceCase, /mean.?response|line itself|of the line|fitted line|confidence band/i);
  const crossing: Crossing = isMean ? 'line' : 'newObservation';
  const isWald = 'se' in expected || 'halfWidth' in expected || says(referenceCase, /wald/i);
  const flat = (key: string) =>
    asked(
      (question) =>
        isWald ? figureOf(named(line, question), key) : figureOf(inversion(line, { question, last }), key),
      crossing,
    );
  return {
    slope: () => line.slope,
    intercept: () => line.intercept,
    residualSd: () => line.residualSd,
    lastTime: () => last,
    line: byInversion('line'),
    newObservation: byInversion('newObservation'),
    inversion: byInversion(crossing),
    wald: byWald(crossing),
    ...Object.fromEntries(
      ['crossing', 'lower', 'upper', 'g', 'se', 'halfWidth', 'timeToLimit', 'timeToLimitLower', 'timeToLimitUpper'].map(
        (key) => [key, flat(key)],
      ),
    ),
  };
}

function figureOf(record: Readonly<Record<string, number | undefined>> | undefined, key: string): number | undefined {
  return record?.[key];
}

function named(line: TimeLine, question: LimitQuestion): Record<string, number> | undefined {
  const found = limitByWald(line, question);
  return (
    found && {
      crossing: found.crossing,
      se: found.standardError,
      halfWidth: found.halfWidth,
      lower: found.crossing - found.halfWidth,
      upper: found.crossing + found.halfWidth,
    }
  );
}

function senFigures(
  inputs: ReferenceCase['inputs'],
  p: { times: readonly number[]; values: readonly number[] },
): Figures {
  const question = { limit: numberOf(inputs, 'limit'), confidence: numberOf(inputs, 'confidence') };
  const found = () => limitBySen(p.times, p.values, question);
  return {
    slope: () => theilSen(p)?.slope,
    interceptSeparate: () => theilSen(p)?.intercept,
    interceptJoint: () => theilSen(p)?.interceptOfResiduals,
    slopeInterval: () => senSlopeInterval(p, question),
    crossing: () => found()?.crossing,
    crossingInterval: () => {
      const interval = found();
      return interval && [interval.lower, interval.upper];
    },
  };
}

/** How often the interval of the line holds the true crossing, when autocorrelation is not allowed for. From one seed. */
function coverage(inputs: ReferenceCase['inputs'], phi: number): number {
  const n = numberOf(inputs, 'n');
  const [step, intercept, slope] = [numberOf(inputs, 'step'), numberOf(inputs, 'intercept'), numberOf(inputs, 'slope')];
  const [sd, limit, confidence] = [
    numberOf(inputs, 'residualSd'),
    numberOf(inputs, 'limit'),
    numberOf(inputs, 'confidence'),
  ];
  const truth = (limit - intercept) / slope;
  const normal = seededNormal(20240611);
  const times = Array.from({ length: n }, (_, i) => i * step);
  let held = 0;
  for (let replication = 0; replication < REPLICATIONS; replication++) {
    let residual = normal();
    const values = times.map((t) => {
      const value = intercept + slope * t + sd * residual;
      residual = phi * residual + Math.sqrt(1 - phi * phi) * normal();
      return value;
    });
    const line = fitTimeLine(times, values);
    if (line === undefined) throw new InputMissing('too few values for a line');
    const found = limitByInversion(line, { limit, confidence, crossing: 'line' });
    // Without a significant slope no time can be ruled out, so the truth is held.
    if (found === undefined || (found.lower <= truth && truth <= found.upper)) held++;
  }
  return held / REPLICATIONS;
}
