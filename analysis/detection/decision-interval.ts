import { JUDGING } from '../limits.ts';
import { averageRunLengthFromFalseAlarmRate, solveCusumLimit } from './solve-limit.ts';

/** Solved intervals by their rounded inputs: a fleet has few different ones, and solving takes milliseconds. */
const solved = new Map<string, number>();

/**
 * Decision interval of a one-sided CUSUM from the false-alarm rate that the user asks for.
 *
 * @param p.findingsPer100UnitsAndWeek - False findings a planner is ready to look at.
 * @param p.ticksPerWeek - Running hours of the unit in a usual week: each is one tick of its charts.
 * @param p.chartsPerUnit - Chart sides that can raise a finding; they share the rate.
 * @param p.correlation - Lag-1 autocorrelation of the unit's healthy hours.
 * @param p.referenceValue - Slack of the CUSUM that the interval is for, in standard deviations of a tick.
 * @returns In standard deviations of a tick.
 */
export function decisionIntervalFor(p: {
  readonly findingsPer100UnitsAndWeek: number;
  readonly ticksPerWeek: number;
  readonly chartsPerUnit: number;
  readonly correlation: number;
  readonly referenceValue: number;
}): number {
  const averageRunLength =
    JUDGING.runLengthMargin * averageRunLengthFromFalseAlarmRate({ ...p, pointsPerWeek: p.ticksPerWeek });
  // Steps of 5 % in run length and 0.05 in correlation: far below what either is known to.
  const steps = Math.round(Math.log(averageRunLength) / Math.log(1.05));
  const correlation = Math.round(p.correlation * 20) / 20;
  const key = `${steps}/${correlation}/${p.referenceValue}`;
  const known = solved.get(key);
  if (known !== undefined) return known;
  const limit = solveCusumLimit({
    referenceValue: p.referenceValue,
    averageRunLength: 1.05 ** steps,
    twoSided: false,
    autocorrelation: correlation,
  });
  solved.set(key, limit);
  return limit;
}
