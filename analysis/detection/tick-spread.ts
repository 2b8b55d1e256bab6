import type { Drivers } from './drivers.ts';
import { type Expectation, type LearningPoint, learnExpectation, predict } from './expectation.ts';
import type { FeatureSet } from './features.ts';
import { ascending, medianOfSorted } from './quantiles.ts';
import { significant } from './significant.ts';

/** Autocorrelation of healthy hours where little is known. Common practice, no source. */
const USUAL = { correlation: 0.2, hours: 20 } as const;

/** How the hourly means of a healthy unit spread about an expectation that was learnt without them. */
export type TickSpread = { readonly sd: number; readonly correlation: number; readonly ticks: number };

/**
 * Measures the spread of hourly means out of sample: the learning hours are cut into blocks, each block is held against
 * an expectation learnt from the others. In-sample residuals would look too small and the charts would cry wolf.
 *
 * @param p.points - Learning points in the order of time.
 * @param p.folds - Number of contiguous blocks.
 * @returns Standard deviation (the part the prediction variance explains taken out, never below a tenth of a point's),
 *   lag-1 autocorrelation drawn towards a usual one and kept within 0 and 0.8, and the number of hours; `undefined` with fewer than ten hours.
 */
export function measureTickSpread(p: {
  readonly points: readonly LearningPoint[];
  readonly features: FeatureSet;
  readonly span: number;
  readonly minSd: number;
  readonly folds: number;
  readonly whole: Expectation;
  readonly weightOf: (drivers: Drivers) => number;
}): TickSpread | undefined {
  const hours = [...new Set(p.points.map((point) => point.hour))];
  if (hours.length < 10) return undefined;
  const foldOf = new Map(hours.map((hour, index) => [hour, Math.floor((index * p.folds) / hours.length)]));
  const residuals = new Map<number, { sum: number; variance: number; weight: number }>();
  for (let fold = 0; fold < p.folds; fold += 1) {
    const rest = p.points.filter((point) => foldOf.get(point.hour) !== fold);
    const expectation = learnExpectation({ ...p, points: rest });
    if (expectation === undefined) return undefined;
    for (const point of p.points) {
      if (foldOf.get(point.hour) !== fold) continue;
      const features = p.features.values(point.drivers);
      if (features === undefined) continue;
      const { expected, variance } = predict(expectation, features);
      const weight = p.weightOf(point.drivers);
      const entry = residuals.get(point.hour) ?? { sum: 0, variance: 0, weight: 0 };
      entry.sum += weight * (point.value - expected);
      entry.variance += weight * variance;
      entry.weight += weight;
      residuals.set(point.hour, entry);
    }
  }
  const ticks = hours.flatMap((hour) => {
    const entry = residuals.get(hour);
    return entry === undefined ? [] : [{ mean: entry.sum / entry.weight, variance: entry.variance / entry.weight }];
  });
  return { ...spreadOf(ticks, p.whole.pointSd), ticks: ticks.length };
}

function spreadOf(
  ticks: readonly { mean: number; variance: number }[],
  pointSd: number,
): { sd: number; correlation: number } {
  const means = ticks.map((tick) => tick.mean);
  const middle = medianOfSorted(ascending(means));
  const rough = Math.max(1.4826 * medianOfSorted(ascending(means.map((value) => Math.abs(value - middle)))), 1e-9);
  // Winsorised: uses every hour, yet no single one can blow the spread up.
  const clipped = means.map((value) => Math.max(-3 * rough, Math.min(3 * rough, value)));
  const square = clipped.reduce((sum, value) => sum + value * value, 0) / (clipped.length - 1);
  const explained = medianOfSorted(ascending(ticks.map((tick) => tick.variance)));
  // Some tens of hours leave the spread itself unsure; taken one standard uncertainty larger, it seldom is too small.
  const unsure = 1 + 1 / Math.sqrt(2 * ticks.length);
  const sd = unsure * Math.sqrt(Math.max(square - explained, (0.1 * pointSd) ** 2, 0.25 * square));
  let products = 0;
  for (let i = 1; i < clipped.length; i += 1) products += (clipped[i] as number) * (clipped[i - 1] as number);
  // Forty hours tell little about a correlation; a usual value weighs as much as twenty of them.
  const measured = products / (clipped.length - 1) / square;
  const correlation = (clipped.length * measured + USUAL.hours * USUAL.correlation) / (clipped.length + USUAL.hours);
  return { sd: significant(sd, 9), correlation: Number(Math.max(0, Math.min(0.8, correlation)).toFixed(2)) };
}
