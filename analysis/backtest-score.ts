import { assert } from '../schemas/assert.ts';
import type { BacktestRun } from './backtest.ts';
import { type FaultOutcome, faultOutcome, type Upset, type UpsetVerdict, upsetsOf } from './backtest-outcomes.ts';
import type { Truth } from './backtest-truth.ts';
import { median } from './detection/quantiles.ts';
import { type Episode, eventScores } from './health/detection-quality.ts';
import { poissonInterval } from './statistics/poisson.ts';

/** A rate with the interval that the number of events leaves open. */
export type Rate = { readonly estimate: number; readonly lower: number; readonly upper: number };

/** How one setting did, beside others on the same samples. */
export type BacktestScore = {
  readonly setting: string;
  readonly units: number;
  /** Unit-weeks after learning, times of known faults left out. */
  readonly healthyUnitWeeks: number;
  readonly faults: readonly FaultOutcome[];
  readonly detected: number;
  readonly missed: number;
  readonly medianDelayDays: number | undefined;
  readonly medianDelayRunningHours: number | undefined;
  /** Single findings after learning; those open at the same time on a unit are one upset, and so one task. */
  readonly findings: number;
  readonly upsets: { readonly [V in UpsetVerdict]: number };
  /** Share of the judged upsets that were true; `undefined` without any. */
  readonly precision: number | undefined;
  /** False upsets per 100 units and week with their 90 % interval; `undefined` without a healthy hour. */
  readonly falsePer100UnitsAndWeek: Rate | undefined;
  /** The same if every upset that nobody has looked into were false; `undefined` when there is none. */
  readonly atMostPer100UnitsAndWeek: Rate | undefined;
};

const HOUR_MS = 3_600_000;
const WEEK_HOURS = 7 * 24;

/** Confidence of the interval of a rate. */
export const RATE_CONFIDENCE = 0.9;

type UnitUpset = Upset & { readonly unit: string };

/**
 * Scores the runs of one setting over all units against what is known.
 *
 * Only the time after learning counts. An alarm detects a fault when both overlap in time and the fault is known to
 * move what the alarm is about (any alarm, for a fault without a signature); one that stood before the fault began
 * detects it without delay.
 *
 * @param runs - One a unit, all of the same setting.
 * @param truth - What fitters found, or a list of known faults.
 * @throws AssertionError when runs of different settings are mixed.
 */
export function scoreBacktest(runs: readonly BacktestRun[], truth: Truth): BacktestScore {
  const setting = runs[0]?.setting ?? '';
  assert(
    runs.every((run) => run.setting === setting),
    'one score is of one setting',
  );
  const faults = truth.faults.flatMap((fault) => {
    const run = runs.find(({ unit }) => unit === fault.unit);
    return run === undefined ? [] : [faultOutcome(fault, run)];
  });
  const upsets = runs.flatMap((run) => upsetsOf(run, truth).map((upset) => ({ unit: run.unit, ...upset })));
  const count = (verdict: UpsetVerdict) => upsets.filter((one) => one.verdict === verdict).length;
  const axis = timeAxis(runs, truth);
  const judged = axis.scores(upsets.filter(({ verdict }) => verdict !== 'unjudged'));
  const delays = (read: (one: FaultOutcome) => number | undefined) => median(faults.flatMap((one) => read(one) ?? []));
  return {
    setting,
    units: runs.length,
    healthyUnitWeeks: axis.healthyHours / WEEK_HOURS,
    faults,
    detected: faults.filter(({ outcome }) => outcome === 'detected').length,
    missed: faults.filter(({ outcome }) => outcome === 'missed').length,
    medianDelayDays: delays((one) => one.delayDays),
    medianDelayRunningHours: delays((one) => one.delayRunningHours),
    findings: upsets.reduce((sum, { alarms }) => sum + alarms.length, 0),
    upsets: { true: count('true'), false: count('false'), unjudged: count('unjudged') },
    precision: judged.precision,
    falsePer100UnitsAndWeek: rateOf(judged, axis.healthyHours),
    atMostPer100UnitsAndWeek: count('unjudged') === 0 ? undefined : rateOf(axis.scores(upsets), axis.healthyHours),
  };
}

/**
 * All units one after the other on one axis of hours, as event scores ask for. Upsets that fall into a fault but cannot
 * be of it are laid behind the data, where there is no event that could excuse them.
 */
function timeAxis(runs: readonly BacktestRun[], truth: Truth) {
  const judged = runs.filter((run) => run.learntMs !== undefined);
  const stride = 2 * Math.max(1, ...judged.map((run) => (run.toMs - run.fromMs) / HOUR_MS));
  const place = (run: BacktestRun, p: { fromMs: number; toMs: number }): Episode => {
    const start = judged.indexOf(run) * stride - run.fromMs / HOUR_MS;
    return [start + p.fromMs / HOUR_MS, start + p.toMs / HOUR_MS];
  };
  const events = judged.flatMap((run) => {
    const spans = truth.faults
      .filter(({ unit }) => unit === run.unit)
      .map(({ fromMs, toMs }) => ({ fromMs: Math.max(fromMs, run.learntMs ?? 0), toMs: Math.min(toMs, run.toMs) }))
      .filter(({ fromMs, toMs }) => fromMs < toMs);
    return joined(spans).map((span) => place(run, span));
  });
  const totalHours = judged.reduce((sum, run) => sum + (run.toMs - (run.learntMs ?? 0)) / HOUR_MS, 0);
  const healthyHours = totalHours - events.reduce((sum, [start, end]) => sum + end - start, 0);
  const scores = (upsets: readonly UnitUpset[]) => {
    const alarms = upsets.map((upset, index): Episode => {
      const run = judged.find((one) => one.unit === upset.unit);
      assert(run !== undefined, 'an upset is of a unit that was judged');
      const [start, end] = place(run, upset);
      return upset.verdict === 'true'
        ? [start, end]
        : [(judged.length + index) * stride, (judged.length + index) * stride];
    });
    return eventScores({ events, alarms, totalHours });
  };
  return { healthyHours, scores };
}

/** Spans in the order of time, overlapping ones joined. */
function joined(spans: readonly { fromMs: number; toMs: number }[]): { fromMs: number; toMs: number }[] {
  const out: { fromMs: number; toMs: number }[] = [];
  for (const span of [...spans].sort((a, b) => a.fromMs - b.fromMs)) {
    const last = out.at(-1);
    if (last !== undefined && span.fromMs <= last.toMs) last.toMs = Math.max(last.toMs, span.toMs);
    else out.push({ ...span });
  }
  return out;
}

function rateOf(
  scores: { readonly falseAlarms: number; readonly falseAlarmsPer1000HealthyHours: number | undefined },
  healthyHours: number,
): Rate | undefined {
  const perHour = scores.falseAlarmsPer1000HealthyHours;
  if (perHour === undefined) return undefined;
  const [lower, upper] = poissonInterval(scores.falseAlarms, RATE_CONFIDENCE);
  const per100 = (events: number) => (100 * events * WEEK_HOURS) / healthyHours;
  return { estimate: (perHour / 1000) * WEEK_HOURS * 100, lower: per100(lower), upper: per100(upper) };
}
