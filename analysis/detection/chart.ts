import type { AnalysisSettings } from '../settings.ts';
import { type CusumSignal, type CusumState, cusumSignal, cusumStep, initialCusum } from './cusum.ts';
import type { Expectation } from './expectation.ts';
import { significant } from './significant.ts';

/** Points of the running hour under way, as weighted sums. */
type OpenTick = {
  readonly weight: number;
  readonly residualSum: number;
  readonly varianceSum: number;
  readonly expectedSum: number;
  readonly margin: number | null;
  /** Points at low load alone, each counting the same. */
  readonly lowSum: number;
  readonly lowCount: number;
};

/**
 * One closed hour: its running hour and the time of its end, the mean residual with the standard deviation it was judged
 * by, the mean expectation, and the room between the expectation and the maker's limit at the tightest point of the hour
 * (`null` without a limit), and the mean residual at low load alone (`null` without such a point). A tuple, since a unit's state holds some hundreds of them.
 */
export type Tick = readonly [
  hour: number,
  atMs: number,
  residual: number,
  sd: number,
  expected: number,
  margin: number | null,
  lowLoadResidual: number | null,
];

/** The chart of one channel. Plain JSON, bounded. */
export type ChartState = {
  readonly cusum: CusumState;
  readonly decisionInterval: number;
  /** What both sums began with; it was never observed and says nothing of the size of a shift. */
  readonly headStart: number;
  readonly open: OpenTick | null;
  /** Newest hours, oldest first; older ones are averaged in pairs. */
  readonly ticks: readonly Tick[];
};

const MAX_TICKS = 48;
const DEPARTURE_TICKS = 40;

/** Share of rated load below which a point counts as low: there most faults hardly show, a drifted sensor fully does. */
const LOW_LOAD = 0.3;

/** Weight that an idling engine still has. */
const LEAST_WEIGHT = 0.02;

/**
 * A chart that has seen nothing.
 *
 * @param p.decisionInterval - Solved from the false-alarm rate that the user asks for.
 * @param p.headStart - Half the interval after a repair, so that a fault which stayed shows soon; 0 otherwise.
 */
export function newChart(p: { readonly decisionInterval: number; readonly headStart: number }): ChartState {
  return {
    cusum: initialCusum(p),
    decisionInterval: p.decisionInterval,
    headStart: p.headStart,
    open: null,
    ticks: [],
  };
}

/**
 * Weight of a point within its hour. What goes wrong in the gas path grows with the load, and some of it (a gate that
 * stays shut) shows at high load alone; a plain mean would drown ten minutes of climbing in fifty of coasting.
 *
 * @param p.features - Oil pressure shows its faults at any load: all points count alike.
 * @param p.load - Share of rated, or `undefined` without a load signal.
 */
export function pointWeight(p: { readonly features: 'gas_path' | 'oil'; readonly load: number | undefined }): number {
  return p.features === 'oil' || p.load === undefined ? 1 : LEAST_WEIGHT + p.load * p.load;
}

/** Adds one judged point to the hour under way. */
export function addToTick(
  chart: ChartState,
  p: {
    readonly observed: number;
    readonly expected: number;
    readonly variance: number;
    readonly margin: number | undefined;
    readonly weight: number;
    readonly load: number | undefined;
  },
): ChartState {
  const open = chart.open ?? {
    weight: 0,
    residualSum: 0,
    varianceSum: 0,
    expectedSum: 0,
    margin: null,
    lowSum: 0,
    lowCount: 0,
  };
  const isLow = p.load !== undefined && p.load < LOW_LOAD;
  const margin =
    p.margin === undefined
      ? open.margin
      : open.margin === null
        ? p.margin
        : Math.abs(p.margin) < Math.abs(open.margin)
          ? p.margin
          : open.margin;
  return {
    ...chart,
    open: {
      weight: open.weight + p.weight,
      residualSum: open.residualSum + p.weight * (p.observed - p.expected),
      varianceSum: open.varianceSum + p.weight * p.variance,
      expectedSum: open.expectedSum + p.weight * p.expected,
      margin,
      lowSum: open.lowSum + (isLow ? p.observed - p.expected : 0),
      lowCount: open.lowCount + (isLow ? 1 : 0),
    },
  };
}

/**
 * Closes the hour under way and moves the chart by one tick; nothing happens when the hour held no judged point.
 *
 * The hour's mean residual is divided by the spread of healthy hours and the uncertainty of the expectation together, cut
 * at a few standard deviations, and fed to a two-sided CUSUM. It watches for lasting shifts of any size; the baseline is
 * frozen, since one that follows would learn a slow fault as normal.
 */
export function closeTick(
  chart: ChartState,
  p: {
    readonly expectation: Expectation;
    readonly hour: number;
    readonly atMs: number;
    readonly settings: AnalysisSettings;
  },
): ChartState {
  const { open } = chart;
  if (open === null) return chart;
  const residual = open.residualSum / open.weight;
  const sd = Math.sqrt(p.expectation.tickSd ** 2 + open.varianceSum / open.weight);
  const clip = p.settings.clipStandardDeviations;
  const deviation = Math.max(-clip, Math.min(clip, residual / sd));
  return {
    ...chart,
    cusum: cusumStep(chart.cusum, deviation, settingOf(chart, p.settings), p.atMs),
    open: null,
    ticks: append(chart.ticks, [
      p.hour,
      p.atMs,
      shorten(residual),
      shorten(sd),
      shorten(open.expectedSum / open.weight),
      open.margin === null ? null : shorten(open.margin),
      open.lowCount === 0 ? null : shorten(open.lowSum / open.lowCount),
    ]),
  };
}

/** What the CUSUM says of one side, or `undefined` while it is below its limit. */
export function chartSignal(
  chart: ChartState,
  side: 'upper' | 'lower',
  settings: AnalysisSettings,
): CusumSignal | undefined {
  const setting = settingOf(chart, settings);
  const signal = cusumSignal(chart.cusum, setting);
  if (signal === undefined || signal.side === side) return signal;
  // Both sides may be beyond at once after a swing; then the smaller one is asked for by itself.
  return cusumSignal({ ...chart.cusum, [signal.side]: { sum: 0, runLength: 0, since: null } }, setting);
}

/** Larger sum of the CUSUM, with its sign; for the history. */
export function cusumValue(chart: ChartState): number {
  const { upper, lower } = chart.cusum;
  return upper.sum >= lower.sum ? upper.sum : -lower.sum;
}

/** A mean departure with its standard uncertainty, both in the channel's unit. */
export type MeanDeparture = { readonly departure: number; readonly standardUncertainty: number };

/**
 * Mean departure of the hours since a moment (the newest forty of them), with its standard uncertainty widened for
 * autocorrelation, and the same at low load alone where there was any; `undefined` when no hour since then was judged.
 */
export function departureSince(
  chart: ChartState,
  p: { readonly sinceMs: number; readonly correlation: number },
): (MeanDeparture & { readonly hours: number; readonly low?: MeanDeparture }) | undefined {
  const ticks = chart.ticks.filter(([, atMs]) => atMs >= p.sinceMs).slice(-DEPARTURE_TICKS);
  if (ticks.length === 0) return undefined;
  let [sum, squares, lowSum, lowCount] = [0, 0, 0, 0];
  for (const [, , residual, sd, , , low] of ticks) {
    sum += residual;
    squares += sd * sd;
    lowSum += low ?? 0;
    lowCount += low === null ? 0 : 1;
  }
  const widening = (1 + p.correlation) / (1 - p.correlation);
  const uncertainty = (count: number) => Math.sqrt((squares / ticks.length) * Math.min(1, widening / count));
  return {
    departure: sum / ticks.length,
    standardUncertainty: uncertainty(ticks.length),
    hours: ticks.length,
    ...(lowCount === 0 ? {} : { low: { departure: lowSum / lowCount, standardUncertainty: uncertainty(lowCount) } }),
  };
}

/**
 * Mean of the newest hours in standard deviations of one hour, signed; `undefined` with fewer than `count` hours.
 */
export function recentLevel(chart: ChartState, count: number): number | undefined {
  if (chart.ticks.length < count) return undefined;
  return chart.ticks.slice(-count).reduce((sum, [, , residual, sd]) => sum + residual / sd, 0) / count;
}

function settingOf(chart: ChartState, settings: AnalysisSettings) {
  return {
    referenceValue: settings.cusumReferenceValue,
    decisionInterval: chart.decisionInterval,
    headStart: chart.headStart,
  };
}

/** Newest hours stay as they are; the older half is averaged in pairs when the list is full. */
function append(ticks: readonly Tick[], tick: Tick): readonly Tick[] {
  if (ticks.length < MAX_TICKS) return [...ticks, tick];
  const merged: Tick[] = [];
  for (let i = 0; i + 1 < MAX_TICKS / 2; i += 2) {
    const [a, b] = [ticks[i] as Tick, ticks[i + 1] as Tick];
    const middle = (x: number, y: number) => shorten((x + y) / 2);
    merged.push([
      middle(a[0], b[0]),
      b[1],
      middle(a[2], b[2]),
      shorten(Math.hypot(a[3], b[3]) / 2),
      middle(a[4], b[4]),
      a[5] ?? b[5],
      a[6] === null || b[6] === null ? (a[6] ?? b[6]) : middle(a[6], b[6]),
    ]);
  }
  return [...merged, ...ticks.slice(MAX_TICKS / 2), tick];
}

/** Six digits: finer than any sensor, and a state that stays small. */
function shorten(value: number): number {
  return significant(value, 6);
}
