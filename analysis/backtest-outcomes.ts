import { CHANNEL_KEYS, type ChannelKey } from '../schemas/channel.ts';
import type { SignalKey } from '../schemas/signals.ts';
import { type Alarm, type BacktestRun, runningHoursAt } from './backtest.ts';
import type { KnownFault, Truth } from './backtest-truth.ts';
import { signalChannel } from './detection/signal-channel.ts';
import { causeMoves } from './health/cause-channels.ts';

/** What became of one known fault under one setting. */
export type FaultOutcome = KnownFault & {
  /** `not_judged`: it was over before anything had been learnt, or began after the data. */
  readonly outcome: 'detected' | 'missed' | 'not_judged';
  /** From the onset to the first alarm that it can have raised; absent unless it was detected. */
  readonly delayDays?: number;
  readonly delayRunningHours?: number;
  readonly alarm?: Alarm;
};

/** What an upset turned out to be; `unjudged` when nobody has looked into it. */
export type UpsetVerdict = 'true' | 'false' | 'unjudged';

/** Findings of a unit that were open at the same time: one visit of the fitter. */
export type Upset = {
  readonly alarms: readonly Alarm[];
  readonly fromMs: number;
  readonly toMs: number;
  readonly verdict: UpsetVerdict;
};

const DAY_MS = 24 * 3_600_000;

/** What became of a fault: whether an alarm after learning can have been raised by it, and after how long. */
export function faultOutcome(known: KnownFault, run: BacktestRun): FaultOutcome {
  const fault = { ...known, toMs: Math.min(known.toMs, run.toMs) };
  if (run.learntMs === undefined || fault.toMs <= Math.max(run.learntMs, fault.fromMs))
    return { ...fault, outcome: 'not_judged' };
  const alarm = run.alarms.find((one) => one.atMs >= (run.learntMs as number) && canBeOf(one, fault, run));
  if (alarm === undefined) return { ...fault, outcome: 'missed' };
  const atMs = Math.max(alarm.atMs, fault.fromMs);
  return {
    ...fault,
    outcome: 'detected',
    delayDays: (atMs - fault.fromMs) / DAY_MS,
    delayRunningHours: runningHoursAt(run, atMs) - runningHoursAt(run, fault.fromMs),
    alarm,
  };
}

/**
 * The alarms of a run after learning, those open at the same time joined. One that a fault raised while a false alarm
 * stood begins an upset of its own: the visit before it was for nothing. A false one beside a true one costs no visit.
 */
export function upsetsOf(run: BacktestRun, truth: Truth): readonly Upset[] {
  const upsets: { alarms: Alarm[]; fromMs: number; toMs: number; verdict: UpsetVerdict }[] = [];
  for (const alarm of run.alarms) {
    if (run.learntMs === undefined || alarm.atMs < run.learntMs) continue;
    const toMs = alarm.endMs ?? run.toMs;
    const verdict = judgeAlarm(alarm, run, truth);
    const last = upsets.findLast((one) => one.toMs >= alarm.atMs && (verdict !== 'true' || one.verdict === 'true'));
    if (last === undefined) upsets.push({ alarms: [alarm], fromMs: alarm.atMs, toMs, verdict });
    else {
      last.alarms.push(alarm);
      last.toMs = Math.max(last.toMs, toMs);
      if (last.verdict === 'unjudged') last.verdict = verdict;
    }
  }
  return upsets;
}

/** True when a known fault can have raised it; false when that is ruled out; else unjudged. */
function judgeAlarm(alarm: Alarm, run: BacktestRun, truth: Truth): UpsetVerdict {
  const own = truth.faults.filter(({ unit }) => unit === run.unit);
  if (own.some((fault) => canBeOf(alarm, fault, run))) return 'true';
  if (truth.complete) return 'false';
  const refuted = truth.refuted.some(
    ({ unit, fromMs, toMs }) => unit === run.unit && fromMs <= (alarm.endMs ?? run.toMs) && toMs >= alarm.atMs,
  );
  return refuted ? 'false' : 'unjudged';
}

/** Whether a fault can have raised an alarm: both at one time, and the fault is known to move what the alarm is about. */
function canBeOf(alarm: Alarm, fault: KnownFault, run: BacktestRun): boolean {
  if (alarm.atMs > fault.toMs || (alarm.endMs ?? run.toMs) < fault.fromMs) return false;
  const channel = isChannel(alarm.subject) ? alarm.subject : signalChannel(alarm.subject as SignalKey);
  return channel === undefined || (causeMoves(fault.fault, channel) ?? true);
}

function isChannel(subject: string): subject is ChannelKey {
  return (CHANNEL_KEYS as readonly string[]).includes(subject);
}
