import { median } from './quantiles.ts';
import { MAD_TO_SIGMA, medianAbsoluteDeviation } from './robust-scale.ts';

/** Which windows the filter judges and how strictly. */
export type HampelSetting = {
  /** Values on either side of the judged one; the window holds twice as many and one. */
  readonly halfWidth: number;
  /** A value further from the window's median than this many robust standard deviations is replaced. */
  readonly sigmas: number;
  /** 'shorten' judges the ends by what there is of their windows; 'leave' keeps the first and last `halfWidth` values as they are. */
  readonly ends: 'shorten' | 'leave';
  /** From median absolute deviation to standard deviation; that of normal data unless given. */
  readonly madToSigma?: number;
  /** Least standard deviation to judge by, in the unit of the values, so that a flat stretch does not make a spike of a rounding step. Default 0. */
  readonly sigmaFloor?: number;
};

/** One value after the filter. `median` and `sigma` are `undefined` where the value was left alone. */
export type HampelValue = {
  readonly value: number;
  readonly replaced: boolean;
  readonly median: number | undefined;
  readonly sigma: number | undefined;
};

/**
 * Hampel filter: replaces a value that stands out of its neighbourhood by the median of that neighbourhood. Windows
 * are always taken from the values as given, so one replacement does not lead to the next. A step stays a step.
 *
 * @param values - Evenly spaced readings, all finite.
 * @see Hampel (1974), Journal of the American Statistical Association 69, 383-393; Pearson (2002), IEEE Transactions on
 *   Control Systems Technology 10, 55-63.
 */
export function hampelFilter(values: readonly number[], setting: HampelSetting): HampelValue[] {
  const { halfWidth, sigmas, ends, madToSigma = MAD_TO_SIGMA, sigmaFloor = 0 } = setting;
  return values.map((value, i) => {
    const untouched = { value, replaced: false, median: undefined, sigma: undefined };
    if (ends === 'leave' && (i < halfWidth || i >= values.length - halfWidth)) return untouched;
    const window = values.slice(Math.max(0, i - halfWidth), i + halfWidth + 1);
    const centre = median(window);
    const deviation = medianAbsoluteDeviation(window);
    if (centre === undefined || deviation === undefined) return untouched;
    const sigma = madToSigma * deviation;
    const replaced = Math.abs(value - centre) > sigmas * Math.max(sigma, sigmaFloor);
    return { value: replaced ? centre : value, replaced, median: centre, sigma };
  });
}
