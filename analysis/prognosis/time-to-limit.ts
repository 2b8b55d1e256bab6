import { assert } from '../../schemas/assert.ts';
import { effectiveSampleSize } from '../detection/autocorrelation.ts';
import { at, dot } from '../detection/linear-algebra.ts';
import { mean } from '../detection/robust-scale.ts';
import { studentQuantile } from '../statistics/student.ts';
import { senSlopeInterval, theilSen } from './theil-sen.ts';

/** A straight line fitted to values over time, with what an inverse prediction needs. */
export type TimeLine = {
  readonly slope: number;
  readonly intercept: number;
  readonly residualSd: number;
  readonly count: number;
  readonly meanTime: number;
  /** Sum of squared deviations of the times from their mean. */
  readonly timeSquares: number;
  readonly residuals: readonly number[];
};

/** What must reach the limit: the level itself, or one new observation of it with its scatter. */
export type Crossing = 'line' | 'newObservation';

/** How a time to limit is asked for. */
export type LimitQuestion = {
  readonly limit: number;
  /** Between 0 and 1, both excluded. */
  readonly confidence: number;
  /** Default 'line'. */
  readonly crossing?: Crossing;
  /**
   * Correlation of neighbouring residuals, at or above 0; 0 unless given. Widens the interval by the effective sample
   * size: without it an interval said to be 90 % sure held the truth 66 times in 100 at a correlation of 0.5.
   */
  readonly autocorrelation?: number;
};

/** When the limit is met, in the unit of the times. */
export type LimitInterval = {
  /** Where the fitted line meets the limit. Not a forecast when the slope is not significant. */
  readonly crossing: number;
  readonly lower: number;
  readonly upper: number;
  /** Squared ratio of the slope's half-width to the slope: near 0 for a sure trend, 1 where it stops being significant. */
  readonly slopeUncertainty: number;
};

/**
 * Least-squares line over time.
 *
 * @returns `undefined` for fewer than three values or when all times are equal.
 * @throws AssertionError when times and values differ in number.
 */
export function fitTimeLine(times: readonly number[], values: readonly number[]): TimeLine | undefined {
  assert(times.length === values.length, 'every value has a time');
  const meanTime = mean(times);
  const meanValue = mean(values);
  if (meanTime === undefined || meanValue === undefined || times.length < 3) return undefined;
  // About the mean time, slope and level do not disturb each other: no general solver is needed.
  const fromMean = times.map((t) => t - meanTime);
  const timeSquares = dot(fromMean, fromMean);
  if (!(timeSquares > 0)) return undefined;
  const slope =
    dot(
      fromMean,
      values.map((y) => y - meanValue),
    ) / timeSquares;
  const residuals = values.map((y, i) => y - meanValue - slope * at(fromMean, i));
  return {
    slope,
    intercept: meanValue - slope * meanTime,
    residualSd: Math.sqrt(dot(residuals, residuals) / (times.length - 2)),
    count: times.length,
    meanTime,
    timeSquares,
    residuals,
  };
}

/** Parts that both intervals are made of; `undefined` when so few independent values remain that nothing can be said. */
function partsOf(line: TimeLine, question: LimitQuestion) {
  const { autocorrelation = 0, crossing = 'line' } = question;
  assert(autocorrelation >= 0 && autocorrelation < 1, 'autocorrelation lies from 0 to below 1');
  const effective = Math.min(line.count, effectiveSampleSize(line.count, autocorrelation));
  if (!(effective - 2 > 0.5)) return undefined;
  // A line takes more of the scatter with it when the values hang together: undo that.
  const residualSd = line.residualSd * Math.sqrt(((line.count - 2) / line.count) * (effective / (effective - 2)));
  return {
    student: studentQuantile(0.5 + question.confidence / 2, effective - 2),
    residualSd,
    timeSquares: (line.timeSquares * effective) / line.count,
    levelShare: 1 / effective,
    newShare: crossing === 'newObservation' ? 1 : 0,
  };
}

/**
 * When a straight trend meets a limit, with the interval got by inversion: all times at which the limit lies inside the
 * confidence band of the line (or the prediction band of a new observation). It is skewed as it should be: late can be
 * much later.
 *
 * @param line - From {@link fitTimeLine}.
 * @returns `undefined` when the slope is not significant at that confidence: then no time, however late, can be ruled
 *   out, and no forecast may be given.
 * @throws AssertionError for an autocorrelation outside 0 to 1.
 * @see Fieller (1954), Journal of the Royal Statistical Society B 16, 175-185; Graybill & Iyer, Regression Analysis,
 *   chapter 6; Draper & Smith, Applied Regression Analysis, section 3.2.
 */
export function limitByInversion(line: TimeLine, question: LimitQuestion): LimitInterval | undefined {
  const parts = partsOf(line, question);
  const uncertainty = slopeUncertainty(line, question);
  if (parts === undefined || uncertainty === undefined || uncertainty >= 1) return undefined;
  const crossing = (question.limit - line.intercept) / line.slope;
  const distance = crossing - line.meanTime;
  const under = (parts.newShare + parts.levelShare) * (1 - uncertainty) + (distance * distance) / parts.timeSquares;
  const half = (((parts.student * parts.residualSd) / Math.abs(line.slope)) * Math.sqrt(under)) / (1 - uncertainty);
  const middle = line.meanTime + distance / (1 - uncertainty);
  return { crossing, lower: middle - half, upper: middle + half, slopeUncertainty: uncertainty };
}

/**
 * As in {@link LimitInterval}, also where no interval exists; `undefined` when the slope is exactly zero, or when
 * autocorrelation leaves fewer than three independent values.
 */
export function slopeUncertainty(line: TimeLine, question: LimitQuestion): number | undefined {
  const parts = partsOf(line, question);
  if (line.slope === 0 || parts === undefined) return undefined;
  return (parts.student * parts.residualSd) ** 2 / (line.slope ** 2 * parts.timeSquares);
}

/**
 * When a straight trend meets a limit, with the symmetric (Wald) interval: always finite, and too short when the slope
 * is unsure. For comparison with printed values; forecasts use {@link limitByInversion}.
 *
 * @returns `undefined` when the slope is exactly zero.
 * @see Massart et al. (1997), Handbook of Chemometrics and Qualimetrics A, section 8.2.6; DIN 32645.
 */
export function limitByWald(
  line: TimeLine,
  question: LimitQuestion,
): { readonly crossing: number; readonly standardError: number; readonly halfWidth: number } | undefined {
  const parts = partsOf(line, question);
  if (line.slope === 0 || parts === undefined) return undefined;
  const crossing = (question.limit - line.intercept) / line.slope;
  const under = parts.newShare + parts.levelShare + (crossing - line.meanTime) ** 2 / parts.timeSquares;
  const standardError = (parts.residualSd / Math.abs(line.slope)) * Math.sqrt(under);
  return { crossing, standardError, halfWidth: parts.student * standardError };
}

/** A {@link LimitInterval} with the same figures counted from `now` on; below zero when the limit is already passed. */
export type TimeToLimit = LimitInterval & {
  readonly remaining: { readonly estimate: number; readonly lower: number; readonly upper: number };
};

/**
 * When, and how long from now, a straight trend meets a limit.
 *
 * @param p.times - In one unit, ascending; everything returned is in it.
 * @param p.values - One a time.
 * @param p.now - The last time unless given.
 * @returns `undefined` when the slope is not significant (see {@link limitByInversion}) or there are fewer than three values.
 */
export function timeToLimit(
  p: LimitQuestion & { readonly times: readonly number[]; readonly values: readonly number[]; readonly now?: number },
): TimeToLimit | undefined {
  const line = fitTimeLine(p.times, p.values);
  const found = line && limitByInversion(line, p);
  const now = p.now ?? p.times.at(-1);
  if (found === undefined || now === undefined) return undefined;
  return {
    ...found,
    remaining: { estimate: found.crossing - now, lower: found.lower - now, upper: found.upper - now },
  };
}

/**
 * When a Theil–Sen line meets a limit. The interval turns the slope about the median point and so leaves out how sure
 * the level is: narrower than {@link limitByInversion}, but wild values cannot bend it.
 *
 * @returns `undefined` when there is no slope, or its interval holds zero.
 */
export function limitBySen(
  times: readonly number[],
  values: readonly number[],
  question: { readonly limit: number; readonly confidence: number },
): { readonly crossing: number; readonly lower: number; readonly upper: number } | undefined {
  const line = theilSen({ times, values });
  const slopes = senSlopeInterval({ times, values }, { confidence: question.confidence });
  if (line === undefined || slopes === undefined || slopes[0] * slopes[1] <= 0) return undefined;
  const meets = (slope: number) => line.medianTime + (question.limit - line.medianValue) / slope;
  const [a, b] = [meets(slopes[0]), meets(slopes[1])];
  return { crossing: (question.limit - line.intercept) / line.slope, lower: Math.min(a, b), upper: Math.max(a, b) };
}
