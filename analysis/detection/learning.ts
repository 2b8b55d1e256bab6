import type { ChannelKey } from '../../schemas/channel.ts';
import type { Unit } from '../../schemas/unit.ts';
import { LEARNING } from '../limits.ts';
import type { AnalysisSettings } from '../settings.ts';
import { type ChannelRule, channelMinSd } from './channel-table.ts';
import { pointWeight } from './chart.ts';
import type { Drivers } from './drivers.ts';
import { type Expectation, type LearningPoint, learnExpectation } from './expectation.ts';
import { type FeatureSet, gasPathFeatures, oilFeatures, presenceOf } from './features.ts';
import { significant } from './significant.ts';
import { measureTickSpread } from './tick-spread.ts';

/** A pooled point: running hour, the drivers in the order of {@link DRIVER_ORDER}, and a value by channel. */
type PooledPoint = {
  readonly hour: number;
  readonly drivers: readonly (number | null)[];
  readonly values: { readonly [K in ChannelKey]?: number };
};

/** The points gathered until there are enough to learn from. Plain JSON, bounded. */
export type LearningPool = {
  readonly points: readonly PooledPoint[];
  readonly sinceMs: number;
  readonly sinceHour: number;
};

const DRIVER_ORDER = ['load', 'speed', 'air', 'barometer', 'sink', 'oil'] as const;

/** An empty pool that begins now. */
export function emptyPool(p: { readonly nowMs: number; readonly hour: number }): LearningPool {
  return { points: [], sinceMs: p.nowMs, sinceHour: p.hour };
}

/**
 * Adds a point to the pool. A full pool drops every second point, so that its hours stay spread over all it has seen.
 */
export function addToPool(
  pool: LearningPool,
  p: { readonly hour: number; readonly drivers: Drivers; readonly values: { readonly [K in ChannelKey]?: number } },
): LearningPool {
  const drivers = DRIVER_ORDER.map((key) => {
    const value = p.drivers[key];
    return value === undefined ? null : shorten(value);
  });
  const values = Object.fromEntries(Object.entries(p.values).map(([key, value]) => [key, shorten(value)]));
  const kept =
    pool.points.length >= LEARNING.maxPoints ? pool.points.filter((_, index) => index % 2 === 1) : pool.points;
  return { ...pool, points: [...kept, { hour: p.hour, drivers, values }] };
}

/** Whether the pool holds enough running hours and points to learn from. */
export function isPoolReady(pool: LearningPool, hour: number, settings: AnalysisSettings): boolean {
  return hour - pool.sinceHour >= settings.minRunningHours && pool.points.length >= settings.minPoints;
}

/**
 * Learns one channel from the pool.
 *
 * @returns The expectation with the spread of its hourly means measured out of sample, or `undefined` when the channel
 *   has too few points or hours yet.
 */
export function learnChannel(
  pool: LearningPool,
  p: { readonly rule: ChannelRule; readonly unit: Unit; readonly settings: AnalysisSettings },
): Expectation | undefined {
  const { rule, unit, settings } = p;
  const points: LearningPoint[] = [];
  for (const pooled of pool.points) {
    const value = pooled.values[rule.key];
    if (value !== undefined) points.push({ hour: pooled.hour, value, drivers: driversFrom(pooled) });
  }
  const first = points[0];
  if (points.length < settings.minChannelPoints || first === undefined) return undefined;
  const features = featuresFor(rule, first.drivers);
  if (features === undefined) return undefined;
  const common = { points, features, span: rule.span, minSd: channelMinSd(rule, unit) };
  const whole = learnExpectation(common);
  if (whole === undefined) return undefined;
  const spread = measureTickSpread({
    ...common,
    folds: LEARNING.folds,
    whole,
    weightOf: (drivers) => pointWeight({ features: rule.features, load: drivers.load }),
  });
  if (spread === undefined) return undefined;
  const tickSd = Math.max(spread.sd, rule.leastSd, (rule.leastShare ?? 0) * atLoad(points));
  // Where the least spread counts, the hours' own noise, and so its correlation, is the smaller part of it.
  return { ...whole, tickSd, tickCorrelation: Number((spread.correlation * (spread.sd / tickSd) ** 2).toFixed(2)) };
}

/** Size of what a channel shows at load: the value that nine in ten points stay below. */
function atLoad(points: readonly LearningPoint[]): number {
  const sizes = points.map((point) => Math.abs(point.value)).sort((a, b) => a - b);
  return sizes[Math.floor(0.9 * (sizes.length - 1))] ?? 0;
}

/** The feature set of a channel on a unit with these drivers, or `undefined` when it has no signal for load. */
export function featuresFor(rule: ChannelRule, drivers: Drivers): FeatureSet | undefined {
  const presence = presenceOf(drivers);
  return rule.features === 'oil' ? oilFeatures(presence) : gasPathFeatures(presence);
}

function driversFrom(pooled: PooledPoint): Drivers {
  const [load, speed, air, barometer, sink, oil] = pooled.drivers.map((value) => value ?? undefined);
  return { load, speed: speed ?? 0, air, barometer, sink, oil };
}

/** Six digits: finer than any sensor, and a pool that stays small. */
function shorten(value: number): number {
  return significant(value, 6);
}
