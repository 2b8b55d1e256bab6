import {
  mannKendall,
  mannKendallHamedRao,
  mannKendallPreWhitened,
  mannKendallSeasonal,
  mannKendallTrendFree,
  mannKendallYueWang,
  type TrendTest,
} from '../../analysis/prognosis/mann-kendall.ts';
import type { Reading } from '../../analysis/prognosis/readings.ts';
import { senSlopeInterval, type TimedValues, theilSen, theilSenSeasonal } from '../../analysis/prognosis/theil-sen.ts';
import type { ReferenceAdapter, ReferenceCase, ReferenceResult } from './case.ts';
import {
  answer,
  type Figures,
  InputMissing,
  isNumbers,
  optionalNumber,
  readingsOf,
  says,
} from './statistics-inputs.ts';

const SIGNIFICANCE = 0.05;

/** A test and a line under the names of the check values. A constant series has a slope of 0. */
function named(test: TrendTest | undefined, line: { slope: number; intercept: number } | undefined) {
  if (test === undefined) return undefined;
  const direction = test.deviate > 0 ? 'increasing' : 'decreasing';
  return {
    S: test.statistic,
    varS: test.variance,
    z: test.deviate,
    p: test.probability,
    tauA: test.tau,
    tauB: test.tauB,
    n: test.count,
    slope: line?.slope,
    intercept: line?.intercept,
    trend: test.probability < SIGNIFICANCE ? direction : 'no trend',
  };
}

/** Trend tests and lines of a series, or of several series under names of their own. */
export const trendAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs, expected } = referenceCase;
  const isSet = inputs['y'] === undefined && inputs['x'] === undefined;
  if (isSet) return answer(referenceCase, severalSeries(inputs));
  const readings = readingsOf(inputs, 'y', 'x');
  const timed: TimedValues = { values: readings, ...(isNumbers(inputs['t']) && { times: inputs['t'] }) };
  const period = optionalNumber(inputs, 'period');
  const plain = plainFigures(timed, inputs);
  if (period === undefined || 'seasonal' in expected)
    return answerTrend(referenceCase, { ...plain, ...variants(referenceCase, { timed, period }) });
  const seasonal = named(mannKendallSeasonal(readings, period), theilSenSeasonal(readings, period));
  const figures = Object.fromEntries(Object.entries(seasonal ?? {}).map(([key, value]) => [key, () => value]));
  return answerTrend(referenceCase, { ...figures, tauMeanOfSeasons: () => meanOfSeasons(readings, period) });
};

/** As `answer`, with the keys that carry a number of their own: lags3, hamedRao3, yueWang1, interval95. */
function answerTrend(referenceCase: ReferenceCase, figures: Figures): ReferenceResult {
  const { inputs, expected } = referenceCase;
  const numbered: Record<string, () => unknown> = {};
  for (const key of Object.keys(expected)) {
    const parts = /^(hamedRao|yueWang|lags|interval)(\d+)$/.exec(key);
    const readings = parts === null ? [] : readingsOf(inputs, 'y', 'x');
    const count = Number(parts?.[2]);
    const times = isNumbers(inputs['t']) ? { times: inputs['t'] } : {};
    if (parts?.[1] === 'interval')
      numbered[key] = () => senSlopeInterval({ values: readings, ...times }, { confidence: count / 100 });
    else if (parts !== null)
      numbered[key] = () => corrected(referenceCase, { readings, kind: parts[1] ?? '', lags: count });
  }
  return answer(referenceCase, { ...figures, ...numbered });
}

function corrected(
  referenceCase: ReferenceCase,
  p: { readings: readonly Reading[]; kind: string; lags: number | undefined },
) {
  const line = theilSen({ values: p.readings });
  const isHamedRao = p.kind === 'hamedRao' || (p.kind !== 'yueWang' && says(referenceCase, /hamed|rao/i));
  const isYueWang = p.kind === 'yueWang' || (p.kind !== 'hamedRao' && says(referenceCase, /yue|wang/i));
  if (isHamedRao) return named(mannKendallHamedRao(p.readings, p.lags), line);
  if (isYueWang) return named(mannKendallYueWang(p.readings, p.lags ?? p.readings.length - 1), line);
  throw new InputMissing('the case does not say which correction for autocorrelation it wants');
}

function plainFigures(timed: TimedValues, inputs: ReferenceCase['inputs']): Figures {
  const line = () => theilSen(timed);
  const test = () => named(mannKendall(timed.values), line());
  const confidence = optionalNumber(inputs, 'confidence') ?? 0.95;
  const interval = (ranks: 'nearest' | 'interpolated') => () => senSlopeInterval(timed, { confidence, ranks });
  const own = Object.fromEntries(
    ['S', 'varS', 'z', 'p', 'tauA', 'tauB', 'n', 'slope', 'intercept', 'trend'].map((key) => [
      key,
      () => Object.entries(test() ?? {}).find(([k]) => k === key)?.[1],
    ]),
  );
  // Repeated times need Sen's variance, which only the rule of nearest ranks knows; else printed ends are interpolated.
  const hasRepeats = timed.times !== undefined && new Set(timed.times).size < timed.times.length;
  const ends = interval(hasRepeats ? 'nearest' : 'interpolated');
  return {
    ...own,
    interceptSeparate: () => line()?.intercept,
    interceptJoint: () => line()?.interceptOfResiduals,
    lower: () => ends()?.[0],
    upper: () => ends()?.[1],
    intervalScipy: interval('nearest'),
    intervalGilbert: interval('interpolated'),
    slopeIfTimesWereClosedUp: () => theilSen({ values: timed.values.filter((y) => y !== null) })?.slope,
  };
}

function variants(
  referenceCase: ReferenceCase,
  { timed, period }: { timed: TimedValues; period: number | undefined },
): Figures {
  const line = () => theilSen(timed);
  const readings = timed.values;
  const seasonal = () =>
    period === undefined ? undefined : named(mannKendallSeasonal(readings, period), theilSenSeasonal(readings, period));
  const plain = () => named(mannKendall(readings), line());
  return {
    original: plain,
    ignoringSeason: plain,
    seasonal,
    preWhitened: () => named(mannKendallPreWhitened(readings), line()),
    trendFree: () => named(mannKendallTrendFree(readings), line()),
    allLags: () => corrected(referenceCase, { readings, kind: '', lags: undefined }),
    hamedRao: () =>
      corrected(referenceCase, { readings, kind: 'hamedRao', lags: optionalNumber(referenceCase.inputs, 'lags') }),
    yueWang: () =>
      corrected(referenceCase, { readings, kind: 'yueWang', lags: optionalNumber(referenceCase.inputs, 'lags') }),
  };
}

function severalSeries(inputs: ReferenceCase['inputs']): Figures {
  return Object.fromEntries(
    Object.keys(inputs).map((key) => [
      key,
      () => named(mannKendall(readingsOf(inputs, key)), theilSen({ values: readingsOf(inputs, key) })),
    ]),
  );
}

/** Mean of the taus of the seasons, each of them without allowance for equal values. */
function meanOfSeasons(readings: readonly Reading[], period: number): number {
  const taus = Array.from(
    { length: period },
    (_, season) => mannKendall(readings.filter((__, i) => i % period === season))?.tau ?? 0,
  );
  return taus.reduce((sum, tau) => sum + tau, 0) / period;
}
