import { assert } from '../../schemas/assert.ts';
import { logGamma } from '../statistics/gamma.ts';
import { normalCdf, normalDensity } from '../statistics/normal.ts';
import { gaussLegendre } from '../statistics/quadrature.ts';
import { at } from './linear-algebra.ts';
import { mean, standardDeviation } from './robust-scale.ts';

/** Mean and standard deviation of the range of `n` standard normal values, and the mean of their standard deviation. */
export type SubgroupConstants = { readonly d2: number; readonly d3: number; readonly c4: number };

const constantsBySize = new Map<number, SubgroupConstants>();

/**
 * The constants d2, d3 and c4 of control charts for subgroups of `n`, in full precision.
 *
 * @param n - Values a subgroup, from 2.
 * @throws AssertionError below 2.
 * @see ISO 7870-2:2023, annex (tabulated); David & Nagaraja, Order Statistics, section 3.1 (integrals of the range).
 */
export function subgroupConstants(n: number): SubgroupConstants {
  assert(Number.isInteger(n) && n >= 2, 'a subgroup has at least two values');
  const known = constantsBySize.get(n);
  if (known !== undefined) return known;
  const lowest = gaussLegendre(100, { low: -9, high: 9 });
  const density = lowest.nodes.map((x, i) => n * at(lowest.weights, i) * normalDensity(x));
  const belowLowest = lowest.nodes.map(normalCdf);
  const ranges = gaussLegendre(60, { low: 0, high: 16 });
  let [first, second] = [0, 0];
  for (const [j, range] of ranges.nodes.entries()) {
    // P(R <= r): one of the values is the lowest, at x, and all others lie within r above it.
    const within = lowest.nodes.reduce(
      (sum, x, i) => sum + at(density, i) * (normalCdf(x + range) - at(belowLowest, i)) ** (n - 1),
      0,
    );
    first += at(ranges.weights, j) * (1 - within);
    second += at(ranges.weights, j) * range * (1 - within);
  }
  const constants = {
    d2: first,
    d3: Math.sqrt(2 * second - first * first),
    c4: Math.sqrt(2 / (n - 1)) * Math.exp(logGamma(n / 2) - logGamma((n - 1) / 2)),
  };
  constantsBySize.set(n, constants);
  return constants;
}

/** Factors that turn a mean range or mean standard deviation of subgroups straight into three-sigma limits. */
export type ChartFactors = Readonly<Record<'A2' | 'A3' | 'D3' | 'D4' | 'B3' | 'B4', number>>;

/** The factors of subgroups of `n` (from 2), under their customary symbols. See ISO 7870-2:2023. */
export function chartFactors(n: number): ChartFactors {
  const { d2, d3, c4 } = subgroupConstants(n);
  const range = (3 * d3) / d2;
  const sd = (3 * Math.sqrt(1 - c4 * c4)) / c4;
  return {
    A2: 3 / (d2 * Math.sqrt(n)),
    A3: 3 / (c4 * Math.sqrt(n)),
    D3: Math.max(0, 1 - range),
    D4: 1 + range,
    B3: Math.max(0, 1 - sd),
    B4: 1 + sd,
  };
}

/** The mean moving range of two neighbours of normal data is this many standard deviations: 2 / sqrt(pi). */
export const MEAN_MOVING_RANGE_SIGMAS = 2 / Math.sqrt(Math.PI);

/** Limits of a chart about a centre. */
export type ChartLimits = {
  readonly centre: number;
  readonly sigma: number;
  readonly lower: number;
  readonly upper: number;
};

/** Distances between neighbours: one fewer than there are values. */
export function movingRanges(values: readonly number[]): number[] {
  return values.slice(1).map((x, i) => Math.abs(x - at(values, i)));
}

/**
 * Limits for single values, with sigma from the mean moving range: it follows the short-term scatter and is hardly
 * moved by a slow drift of the level.
 *
 * @param values - At least two.
 * @param p.sigmas - Distance of the limits from the mean in standard deviations; 3 by custom.
 * @param p.sigmasPerRange - d2 for two values; 2 / sqrt(pi) unless a printed table's rounding is to be matched.
 * @returns `undefined` for fewer than two values.
 * @see NIST/SEMATECH e-Handbook of Statistical Methods, 6.3.2.2; ISO 7870-2:2023.
 */
export function individualsLimits(
  values: readonly number[],
  p: { sigmas?: number; sigmasPerRange?: number } = {},
): (ChartLimits & { readonly meanMovingRange: number; readonly upperMovingRange: number }) | undefined {
  const { sigmas = 3, sigmasPerRange = MEAN_MOVING_RANGE_SIGMAS } = p;
  const centre = mean(values);
  const meanMovingRange = mean(movingRanges(values));
  if (centre === undefined || meanMovingRange === undefined) return undefined;
  const sigma = meanMovingRange / sigmasPerRange;
  const { d2, d3 } = subgroupConstants(2);
  return {
    ...limitsAround(centre, { sigma, reach: sigmas * sigma }),
    meanMovingRange,
    upperMovingRange: (d2 + sigmas * d3) * sigma,
  };
}

/** As {@link individualsLimits}, with sigma from the standard deviation of all values, freed of its bias by c4. */
export function individualsLimitsBySd(values: readonly number[], sigmas = 3): ChartLimits | undefined {
  const centre = mean(values);
  const deviation = standardDeviation(values);
  if (centre === undefined || deviation === undefined) return undefined;
  const sigma = deviation / subgroupConstants(values.length).c4;
  return limitsAround(centre, { sigma, reach: sigmas * sigma });
}

/** What a set of equal subgroups says about level and scatter, and the limits of their means, ranges and deviations. */
export type SubgroupLimits = {
  readonly centre: number;
  readonly meanRange: number;
  readonly meanSd: number;
  readonly sigmaFromRange: number;
  readonly sigmaFromSd: number;
  readonly ofMeansByRange: ChartLimits;
  readonly ofMeansBySd: ChartLimits;
  readonly ofRanges: ChartLimits;
  readonly ofSds: ChartLimits;
};

/**
 * Limits from subgroups of one size (2 or more).
 *
 * @param p.sigmasPerRange - d2, when a printed table's rounding is to be matched.
 * @returns `undefined` without a subgroup.
 * @throws AssertionError when the subgroups differ in size.
 * @see ISO 7870-2:2023; NIST/SEMATECH e-Handbook 6.3.2.1.
 */
export function subgroupLimits(
  subgroups: readonly (readonly number[])[],
  p: { sigmas?: number; sigmasPerRange?: number } = {},
): SubgroupLimits | undefined {
  const n = subgroups[0]?.length ?? 0;
  assert(
    subgroups.every((group) => group.length === n),
    'subgroups have one size',
  );
  const centre = mean(subgroups.map((group) => mean(group) ?? 0));
  const meanRange = mean(subgroups.map((group) => Math.max(...group) - Math.min(...group)));
  const meanSd = mean(subgroups.map((group) => standardDeviation(group) ?? 0));
  if (n < 2 || centre === undefined || meanRange === undefined || meanSd === undefined) return undefined;
  const { d2, d3, c4 } = subgroupConstants(n);
  const { sigmas = 3, sigmasPerRange = d2 } = p;
  const sigmaFromRange = meanRange / sigmasPerRange;
  const sigmaFromSd = meanSd / c4;
  const spreadOfSd = Math.sqrt(1 - c4 * c4);
  const ofMeans = (sigma: number) => limitsAround(centre, { sigma, reach: (sigmas * sigma) / Math.sqrt(n) });
  return {
    centre,
    meanRange,
    meanSd,
    sigmaFromRange,
    sigmaFromSd,
    ofMeansByRange: ofMeans(sigmaFromRange),
    ofMeansBySd: ofMeans(sigmaFromSd),
    ofRanges: notBelowZero(
      limitsAround(meanRange, { sigma: d3 * sigmaFromRange, reach: sigmas * d3 * sigmaFromRange }),
    ),
    ofSds: notBelowZero(
      limitsAround(meanSd, { sigma: spreadOfSd * sigmaFromSd, reach: sigmas * spreadOfSd * sigmaFromSd }),
    ),
  };
}

function limitsAround(centre: number, p: { sigma: number; reach: number }): ChartLimits {
  return { centre, sigma: p.sigma, lower: centre - p.reach, upper: centre + p.reach };
}

function notBelowZero(limits: ChartLimits): ChartLimits {
  return { ...limits, lower: Math.max(0, limits.lower) };
}
