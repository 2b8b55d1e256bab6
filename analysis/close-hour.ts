import type { ChannelKey } from '../schemas/channel.ts';
import { type Finding, type FindingKind, SEVERITIES } from '../schemas/finding.ts';
import type { Context } from './context.ts';
import { CHANNEL_RULES, type ChannelRule, isFitted } from './detection/channel-table.ts';
import { type ChartState, chartSignal, closeTick, newChart, recentLevel } from './detection/chart.ts';
import { decisionIntervalFor } from './detection/decision-interval.ts';
import { isPoolReady, learnChannel } from './detection/learning.ts';
import { chartFinding } from './health/build-finding.ts';
import { isSensorCause } from './health/rank-causes.ts';
import { JUDGING, LEARNING } from './limits.ts';
import { settingsOf } from './settings.ts';
import type { ChannelState, OpenFinding, UnitState } from './state.ts';

const WEEK_MS = 7 * 24 * 3_600_000;

/**
 * Ends the running hour under way: every chart moves by one tick, findings are opened, reported again or cleared, and
 * what has been gathered long enough is learnt.
 *
 * @param state - State with all points of the hour taken in.
 * @param context - Unit and false-alarm rate.
 * @param hour - The hour that begins now.
 * @returns The new state and the findings to report, opened ones first in the order of the channel table.
 */
export function closeHour(
  state: UnitState,
  context: Context,
  hour: number,
): { readonly state: UnitState; readonly findings: readonly Finding[] } {
  const channels: { [K in ChannelKey]?: ChannelState } = {};
  for (const [key, channel] of Object.entries(state.channels) as [ChannelKey, ChannelState][]) {
    channels[key] = {
      ...channel,
      chart: closeTick(channel.chart, {
        expectation: channel.expectation,
        hour: state.hour,
        atMs: state.hourEndMs,
        settings: settingsOf(context),
      }),
    };
  }
  const ticked: UnitState = { ...state, channels };
  const opened = openFindings(ticked, context);
  const followed = followFindings(opened.state, context);
  const learnt = learnWhatIsReady({ ...followed.state, hour }, context);
  return { state: learnt, findings: [...opened.findings, ...followed.findings] };
}

function openFindings(state: UnitState, context: Context): { state: UnitState; findings: readonly Finding[] } {
  const findings: Finding[] = [];
  const open: OpenFinding[] = [...state.findings];
  for (const rule of CHANNEL_RULES) {
    const chart = state.channels[rule.key]?.chart;
    if (chart === undefined) continue;
    for (const side of ['upper', 'lower'] as const) {
      const own = side === 'upper' ? rule.up : rule.down;
      // On a side that no fault of the engine is watched for, what departs alone is its sensor.
      const kind = own ?? 'sensor_fault';
      if (own === undefined && state.hour % JUDGING.reviewTicks !== 0) continue;
      const signal = chartSignal(chart, side, settingsOf(context));
      if (signal === undefined) continue;
      const existing = open.findIndex(
        (one) => one.detector === 'cusum' && one.kind === kind && (own !== undefined || one.subject === rule.key),
      );
      const verifying = open[existing]?.verifying ?? false;
      if (existing >= 0 && !verifying) continue;
      const next =
        existing >= 0
          ? { ...(open[existing] as OpenFinding), verifying: false }
          : createOpen({ kind, rule, side, sinceMs: signal.onset, state, context });
      const finding = chartFinding({ open: next, state, context, atMs: state.hourEndMs });
      if (finding === undefined || (own === undefined && !isSensorAlone(finding))) continue;
      const remembered = remember(next, finding, state.hour);
      if (existing >= 0) open[existing] = remembered;
      else open.push(remembered);
      findings.push(finding);
    }
  }
  return { state: { ...state, findings: open }, findings };
}

/** A sensor leads by far: nothing else departs with it. */
function isSensorAlone(finding: Finding): boolean {
  const [leading] = finding.causes;
  return leading !== undefined && isSensorCause(leading.cause) && leading.probability >= JUDGING.sensorAloneProbability;
}

function createOpen(p: {
  kind: FindingKind;
  rule: ChannelRule;
  side: 'upper' | 'lower';
  sinceMs: number;
  state: UnitState;
  context: Context;
}): OpenFinding {
  return {
    id: `${p.context.unit.id}.${p.kind}.${p.rule.key}.${p.sinceMs}`,
    kind: p.kind,
    detector: 'cusum',
    subject: p.rule.key,
    side: p.side,
    sinceMs: p.sinceMs,
    atMs: p.state.hourEndMs,
    severity: 'low',
    leadingCause: '',
    reportedHour: p.state.hour,
    reportedMs: p.state.hourEndMs,
    seenMs: p.state.hourEndMs,
    verifying: false,
  };
}

/** Reports open findings again when they change or a day of running has passed, and clears those that are gone. */
function followFindings(state: UnitState, context: Context): { state: UnitState; findings: readonly Finding[] } {
  const findings: Finding[] = [];
  const kept: OpenFinding[] = [];
  const channels: { [K in ChannelKey]?: ChannelState } = { ...state.channels };
  for (const open of state.findings) {
    const key = open.subject as ChannelKey;
    const channel = open.detector === 'cusum' ? channels[key] : undefined;
    if (channel === undefined || open.reportedHour === state.hour) {
      kept.push(open);
      continue;
    }
    const gone = isGone(open, channel.chart);
    // Ranking causes costs more than all charts together; a finding that stays need not be looked at every hour.
    const due = gone || (state.hour - open.reportedHour) % JUDGING.reviewTicks === 0;
    const finding = due ? chartFinding({ open, state, context, atMs: state.hourEndMs }) : undefined;
    if (gone) {
      if (finding !== undefined) findings.push({ ...finding, state: 'cleared' });
      channels[key] = { ...channel, chart: restart(channel.chart, 0) };
      continue;
    }
    const report = finding !== undefined && !open.verifying && hasChanged(open, finding, state.hour);
    if (report) findings.push(finding);
    kept.push(report ? remember(open, finding, state.hour) : open);
  }
  return { state: { ...state, channels, findings: kept }, findings };
}

/** Back within what is expected, or gone over to the other side, which is then a finding of its own. */
function isGone(open: OpenFinding, chart: ChartState): boolean {
  const level = recentLevel(chart, open.verifying ? JUDGING.verifyTicks : JUDGING.clearTicks);
  if (level === undefined) return false;
  return open.side === 'upper' ? level < JUDGING.clearStandardDeviations : level > -JUDGING.clearStandardDeviations;
}

/** Worth telling again: a worse grade, another leading cause, or a day of running since it was told. */
function hasChanged(open: OpenFinding, finding: Finding, hour: number): boolean {
  if (SEVERITIES.indexOf(finding.severity) > SEVERITIES.indexOf(open.severity)) return true;
  if (hour - open.reportedHour >= JUDGING.repeatTicks) return true;
  const [leading] = finding.causes;
  if (leading === undefined || leading.cause === open.leadingCause) return false;
  const before = finding.causes.find((one) => one.cause === open.leadingCause)?.probability ?? 0;
  return leading.probability >= JUDGING.leadingCauseRatio * before;
}

function remember(open: OpenFinding, finding: Finding, hour: number): OpenFinding {
  return {
    ...open,
    severity: finding.severity,
    leadingCause: finding.causes[0]?.cause ?? 'unknown',
    reportedHour: hour,
  };
}

/** The same chart with its sums begun anew; its newest hours are kept for the pattern. */
export function restart(chart: ChartState, headStart: number): ChartState {
  return { ...newChart({ decisionInterval: chart.decisionInterval, headStart }), ticks: chart.ticks };
}

function learnWhatIsReady(state: UnitState, context: Context): UnitState {
  const { pool } = state;
  const settings = settingsOf(context);
  if (pool === null || !isPoolReady(pool, state.hour, settings)) return state;
  const weeks = Math.max(state.hourEndMs - pool.sinceMs, 1) / WEEK_MS;
  const ticksPerWeek = state.ticksPerWeek ?? Math.min(168, Math.max(2, (state.hour - pool.sinceHour) / weeks));
  const chartCount = watchedSides(context);
  const channels: { [K in ChannelKey]?: ChannelState } = { ...state.channels };
  let waiting = false;
  for (const rule of CHANNEL_RULES) {
    if (channels[rule.key] !== undefined || !isFitted(rule, context.unit)) continue;
    const expectation = learnChannel(pool, { rule, unit: context.unit, settings });
    if (expectation === undefined) {
      waiting = true;
      continue;
    }
    const decisionInterval = decisionIntervalFor({
      findingsPer100UnitsAndWeek: context.falseFindingsPer100UnitsAndWeek,
      ticksPerWeek,
      chartsPerUnit: chartCount,
      correlation: expectation.tickCorrelation,
      referenceValue: settings.cusumReferenceValue,
    });
    channels[rule.key] = { expectation, chart: newChart({ decisionInterval, headStart: 0 }) };
  }
  const done = !waiting || state.hour - pool.sinceHour >= LEARNING.giveUpRunningHours;
  return { ...state, channels, ticksPerWeek, pool: done ? null : pool };
}

/** How many chart sides can raise a finding on this unit: they share the false-alarm rate. */
function watchedSides(context: Context): number {
  const sides = 2 * CHANNEL_RULES.filter((rule) => isFitted(rule, context.unit)).length;
  return Math.max(1, sides);
}
