import type { ChartState } from '../detection/chart.ts';
import { fitTimeLine, limitByInversion } from './time-to-limit.ts';

/** Confidence of the interval of the time left. */
const CONFIDENCE = 0.9;
/** Fewest hours since the onset that a trend may rest on. */
const LEAST_HOURS = 10;
/** The time left is only said when it is short enough to plan by, in running hours. */
const LONGEST_HOURS = 5_000;

/** Time until a maker's limit is reached, in running hours from the newest tick. */
export type LimitForecast = {
  readonly exceeded: boolean;
  readonly hoursToLimit?: {
    readonly estimate: number;
    readonly lower: number;
    readonly upper: number;
    readonly confidence: number;
  };
};

/**
 * When a departure that grows reaches the maker's limit under the tightest conditions of the newest hours.
 *
 * @param p.chart - Hourly residuals with the room that the expectation leaves to the limit.
 * @param p.sinceMs - Onset; the trend is fitted to the hours from there on.
 * @param p.side - On which side the limit lies.
 * @param p.correlation - Lag-1 autocorrelation of healthy hours; widens the interval.
 * @returns Whether the limit is passed already, and the time left with its interval where the slope carries one.
 */
export function forecastLimit(p: {
  readonly chart: ChartState;
  readonly sinceMs: number;
  readonly side: 'upper' | 'lower';
  readonly correlation: number;
}): LimitForecast {
  const ticks = p.chart.ticks.filter(([, atMs]) => atMs >= p.sinceMs);
  const margins = ticks.flatMap(([, , , , , room]) => (room === null ? [] : [room])).sort((a, b) => a - b);
  const last = ticks[ticks.length - 1];
  if (margins.length === 0 || last === undefined) return { exceeded: false };
  // The tightest tenth of the hours: hot days and full load, not the single worst moment.
  const tight = Math.floor(margins.length * 0.1);
  const margin = (p.side === 'upper' ? margins[tight] : margins[margins.length - 1 - tight]) as number;
  const newest = ticks.slice(-6);
  const level = newest.reduce((sum, tick) => sum + tick[2], 0) / newest.length;
  if (p.side === 'upper' ? level >= margin : level <= margin) return { exceeded: true };
  if (ticks.length < LEAST_HOURS) return { exceeded: false };
  const line = fitTimeLine(
    ticks.map(([hour]) => hour),
    ticks.map(([, , residual]) => residual),
  );
  const result =
    line && limitByInversion(line, { limit: margin, confidence: CONFIDENCE, autocorrelation: p.correlation });
  if (result === undefined) return { exceeded: false };
  const fromNow = (time: number) => Number(Math.max(0, time - last[0]).toFixed(1));
  const estimate = fromNow(result.crossing);
  if (result.crossing <= last[0] || estimate > LONGEST_HOURS) return { exceeded: false };
  return {
    exceeded: false,
    hoursToLimit: { estimate, lower: fromNow(result.lower), upper: fromNow(result.upper), confidence: CONFIDENCE },
  };
}
