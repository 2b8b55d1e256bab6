import type { Finding } from '../schemas/finding.ts';
import type { HistoryPoint } from '../schemas/history-point.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import { SIGNAL_KEYS, type SignalKey } from '../schemas/signals.ts';
import { closeHour } from './close-hour.ts';
import type { Context } from './context.ts';
import { type LimitEvent, limitStep } from './detection/hard-limits.ts';
import { limitFinding, sensorFinding } from './health/build-finding.ts';
import { judgePoint } from './judge-point.ts';
import { HARD_LIMIT, JUDGING } from './limits.ts';
import { plausibilityEvents, plausibilityStep, type SensorEvent } from './manipulation/plausibility.ts';
import { type SteadyPoint, steadyStep } from './manipulation/steady-window.ts';
import type { OpenFinding, UnitState } from './state.ts';

/** Sensors are judged on the hour of the calendar, so that how samples were cut into blocks makes no difference. */
const SLOT_MS = 3_600_000;

/** What a step gives: the new state, the points for the history, and the findings to report. */
export type StepResult = {
  readonly state: UnitState;
  readonly points: readonly HistoryPoint[];
  readonly findings: readonly Finding[];
};

/**
 * Takes one block of samples of one unit through all stages of the analysis: plausibility and steady points, expectation
 * and charts, causes, time left. Pure: the same samples give the same result, however they were cut into blocks, and a
 * sample already seen is passed over.
 *
 * @param state - State after the blocks before; see {@link UnitState}.
 * @param block - Samples in rising time, canonical units.
 * @param context - The unit as the fleet file has it, and the false-alarm rate asked for.
 */
export function step(state: UnitState, block: SampleBlock, context: Context): StepResult {
  const points: HistoryPoint[] = [];
  const findings: Finding[] = [];
  let current = withTroubleCodes(state, block);
  for (const segment of calendarHours(block, state.steady.lastMs)) {
    const slot = Math.floor((segment.t[0] ?? 0) / SLOT_MS);
    if (slot !== current.slot) {
      const judged = plausibilityEvents(current.sensors, { unit: context.unit, atMs: current.steady.lastMs });
      current = { ...current, slot, sensors: judged.states };
      for (const event of judged.events) current = reportSensor(current, event, context, findings);
      current = endKeptLimits(current, current.steady.lastMs, context, findings);
    }
    const sensors = plausibilityStep({
      states: current.sensors,
      block: segment,
      unit: context.unit,
      afterMs: current.steady.lastMs,
    });
    const limits = limitStep(current.limits, segment, context.unit);
    const steady = steadyStep(current.steady, segment, context.unit);
    current = { ...current, sensors, limits: limits.states, steady: steady.state };
    current = takeInOrder(current, { points: steady.points, events: limits.events }, context, { points, findings });
  }
  return { state: current, points, findings };
}

/** Points and passed limits in the order of their times, so that each is judged by what was known at that moment. */
function takeInOrder(
  state: UnitState,
  p: { points: readonly SteadyPoint[]; events: readonly LimitEvent[] },
  context: Context,
  out: { points: HistoryPoint[]; findings: Finding[] },
): UnitState {
  let current = state;
  const events = [...p.events].sort((a, b) => a.atMs - b.atMs);
  for (const steady of p.points) {
    while (events[0] !== undefined && events[0].atMs < steady.point.toMs) {
      current = reportLimit(current, events.shift() as LimitEvent, context, out.findings);
    }
    const hour = Math.floor(steady.runningMs / JUDGING.tickRunningMs);
    if (hour > current.hour) {
      const closed = closeHour(current, context, hour);
      current = closed.state;
      out.findings.push(...closed.findings);
    }
    const judged = judgePoint(current, steady, context);
    current = judged.state;
    out.points.push(judged.history);
  }
  for (const event of events) current = reportLimit(current, event, context, out.findings);
  return current;
}

/** Excursions beyond one limit are one finding until the limit has been kept for a week: nobody wants a task an hour. */
function reportLimit(state: UnitState, event: LimitEvent, context: Context, findings: Finding[]): UnitState {
  const known = state.findings.find((one) => one.detector === 'hard_limit' && one.kind === event.kind);
  const others = state.findings.filter((one) => one !== known);
  if (event.state === 'cleared') {
    return known === undefined ? state : { ...state, findings: [...others, { ...known, seenMs: event.atMs }] };
  }
  const id = `${context.unit.id}.${event.kind}.limit.${event.sinceMs}`;
  const open: OpenFinding = known ?? {
    ...opened({ id, atMs: event.atMs, sinceMs: event.sinceMs, hour: state.hour }),
    kind: event.kind,
    detector: 'hard_limit',
    subject: event.signal,
    severity: 'high',
  };
  const due = known === undefined || event.atMs - known.reportedMs >= HARD_LIMIT.repeatMs;
  if (due) findings.push(limitFinding({ open, event, state, context }));
  const seen = { ...open, seenMs: event.atMs, reportedMs: due ? event.atMs : open.reportedMs };
  return { ...state, findings: [...others, seen] };
}

/** Ends the findings of limits that have been kept for long enough. */
function endKeptLimits(state: UnitState, nowMs: number, context: Context, findings: Finding[]): UnitState {
  const isKept = (open: OpenFinding) =>
    open.detector === 'hard_limit' && !state.limits[open.kind]?.active && nowMs - open.seenMs >= HARD_LIMIT.quietMs;
  const ended = state.findings.filter(isKept);
  if (ended.length === 0) return state;
  for (const open of ended) {
    const last = state.limits[open.kind];
    const event: LimitEvent = {
      kind: open.kind,
      signal: open.subject as SignalKey,
      state: 'cleared',
      sinceMs: open.sinceMs,
      atMs: nowMs,
      worst: last?.worst ?? 0,
      limit: last?.worstLimit ?? 0,
    };
    findings.push({ ...limitFinding({ open, event, state, context }), state: 'cleared' });
  }
  return { ...state, findings: state.findings.filter((open) => !isKept(open)) };
}

function reportSensor(state: UnitState, event: SensorEvent, context: Context, findings: Finding[]): UnitState {
  const id = `${context.unit.id}.sensor_fault.${event.signal}.${event.sinceMs}`;
  const open: OpenFinding = {
    ...opened({ id, atMs: event.atMs, sinceMs: event.sinceMs, hour: state.hour }),
    kind: 'sensor_fault',
    detector: 'plausibility',
    subject: event.signal,
  };
  const known = state.findings.find((one) => one.id === id);
  const finding = sensorFinding({ open: known ?? open, event, state, context });
  findings.push(event.state === 'raised' ? finding : { ...finding, state: 'cleared', updatedAtMs: event.atMs });
  return {
    ...state,
    findings: event.state === 'raised' ? [...state.findings, open] : state.findings.filter((one) => one.id !== id),
  };
}

function opened(p: { id: string; atMs: number; sinceMs: number; hour: number }) {
  return {
    id: p.id,
    sinceMs: p.sinceMs,
    atMs: p.atMs,
    side: null,
    severity: 'low' as const,
    leadingCause: '',
    reportedHour: p.hour,
    reportedMs: p.atMs,
    seenMs: p.atMs,
    verifying: false,
  };
}

function withTroubleCodes(state: UnitState, block: SampleBlock): UnitState {
  if (block.troubleCodes === undefined) return state;
  return { ...state, troubleCodes: block.troubleCodes.map((code) => `SPN ${code.spn} FMI ${code.fmi}`) };
}

/** Cuts a block at the full hours of the calendar and leaves out what was seen before. */
function calendarHours(block: SampleBlock, afterMs: number): readonly SampleBlock[] {
  const segments: SampleBlock[] = [];
  let from = 0;
  while (from < block.t.length && (block.t[from] as number) <= afterMs) from += 1;
  while (from < block.t.length) {
    const slot = Math.floor((block.t[from] as number) / SLOT_MS);
    let to = from + 1;
    while (to < block.t.length && Math.floor((block.t[to] as number) / SLOT_MS) === slot) to += 1;
    segments.push(from === 0 && to === block.t.length ? block : cut(block, from, to));
    from = to;
  }
  return segments;
}

function cut(block: SampleBlock, from: number, to: number): SampleBlock {
  const signals: { [key: string]: readonly (number | null)[] } = {};
  for (const key of SIGNAL_KEYS) {
    const values = block.signals[key];
    if (values !== undefined) signals[key] = values.slice(from, to);
  }
  return { ...block, t: block.t.slice(from, to), signals };
}
