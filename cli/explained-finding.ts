import type { Context } from '../analysis/context.ts';
import { CHANNEL_RULES, channelSignals } from '../analysis/detection/channel-table.ts';
import { RECENT_MS } from '../analysis/health/build-finding.ts';
import { channelOf, type Explanation, explainFinding } from '../analysis/health/explain.ts';
import { loadSignal } from '../analysis/manipulation/load-signal.ts';
import { createReplay, type Replayed } from '../analysis/replay.ts';
import { decodeState, type UnitState } from '../analysis/state.ts';
import { ANALYSIS_GROUP } from '../analysis/worker.ts';
import type { ChannelReading } from '../schemas/channel.ts';
import type { Finding } from '../schemas/finding.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import { isSignalKey, type SignalKey } from '../schemas/signals.ts';
import type { Unit } from '../schemas/unit.ts';
import { CommandFault } from './command-fault.ts';
import { verdictsOf } from './run-backtest.ts';
import { chooseUnit } from './unit-choice.ts';
import type { Stores } from './wiring.ts';

/** One operating point since the onset, as the history keeps it. */
export type ExplainedPoint = ChannelReading & {
  readonly fromMs: number;
  readonly toMs: number;
  readonly speedRpm: number | null;
  /** In the unit of the signal that stands for load; `null` without one. */
  readonly load: number | null;
};

/** A finding unfolded down to samples. */
export type ExplainedFinding = {
  readonly finding: Finding;
  readonly explanation: Explanation;
  /**
   * `replayed`: the samples in the log, run again, gave the same report, and the explanation is of that moment.
   * `changed`: they gave a report of the finding at that moment, but another one, since program or fleet file have
   * changed; the explanation is of that other report. `stored`: they gave none; it is of the analysis as it stands.
   */
  readonly basis: 'replayed' | 'changed' | 'stored';
  readonly loadSignal: SignalKey | null;
  readonly points: readonly ExplainedPoint[];
  /** Samples of the newest judged point, of the signals that the finding rests on; `null` without such a point. */
  readonly samples: { readonly signals: readonly SignalKey[]; readonly rows: readonly SampleRow[] } | null;
};

/** One sample: its time, and a value a signal in the order of the signals. */
export type SampleRow = { readonly atMs: number; readonly values: readonly (number | null)[] };

/**
 * Unfolds a finding.
 *
 * @throws CommandFault when there is no finding with this id.
 */
export async function explainedFinding(p: { stores: Stores; fleet: FleetFile; id: string }): Promise<ExplainedFinding> {
  const { fleet, stores } = p;
  const unitId = p.id.split('.')[0] ?? '';
  const finding = await newestReport(p);
  if (finding === undefined)
    throw new CommandFault({
      message: `There is no finding "${p.id}"; \`chargeair findings --json\` lists their ids.`,
    });
  const unit = chooseUnit(fleet, unitId);
  const channel = channelOf(finding.subject);
  const points = channel === undefined ? [] : await pointsOf(stores, { unit, channel, finding });
  const newest = points.findLast(({ judgement }) => judgement === 'judged') ?? points.at(-1);
  const signals = signalsOf(unit, finding);
  const replayed = await replay(stores, { unit, fleet, finding, newest, signals });
  const then = replayed.result;
  const explained = then ?? { finding, state: await storedState(stores, unit) };
  const same = JSON.stringify(then?.finding) === JSON.stringify(finding);
  return {
    finding,
    explanation: explainFinding({ ...explained, unit }),
    basis: then === undefined ? 'stored' : same ? 'replayed' : 'changed',
    loadSignal: loadSignal(unit)?.key ?? null,
    points,
    samples: newest === undefined ? null : { signals, rows: replayed.rows },
  };
}

/** The newest report that says what departs; the last one of all only says that it is gone. */
async function newestReport(p: { stores: Stores; id: string }): Promise<Finding | undefined> {
  let newest: Finding | undefined;
  for await (const { value } of p.stores.log.scan({ topic: 'findings', key: p.id.split('.')[0] ?? '' })) {
    if (value.id === p.id && (newest === undefined || value.state === 'open')) newest = value;
  }
  return newest;
}

async function pointsOf(
  stores: Stores,
  p: { unit: Unit; channel: NonNullable<Explanation['channel']>; finding: Finding },
): Promise<ExplainedPoint[]> {
  const { finding, unit } = p;
  const load = loadSignal(unit)?.key;
  const points: ExplainedPoint[] = [];
  const fromMs = finding.detector === 'hard_limit' ? finding.sinceMs - RECENT_MS : finding.sinceMs;
  for await (const { point, channels } of stores.history.points({
    unit: unit.id,
    fromMs,
    toMs: finding.updatedAtMs + 1,
  })) {
    const reading = channels[p.channel];
    if (reading === undefined) continue;
    points.push({
      fromMs: point.fromMs,
      toMs: point.toMs,
      speedRpm: point.signals.engineSpeed?.mean ?? null,
      load: load === undefined ? null : (point.signals[load]?.mean ?? null),
      ...reading,
    });
  }
  return points;
}

/** Speed, load and every signal that the subject is read from. */
function signalsOf(unit: Unit, finding: Finding): readonly SignalKey[] {
  const rule = CHANNEL_RULES.find(({ key }) => key === channelOf(finding.subject));
  const load = loadSignal(unit)?.key;
  const own = isSignalKey(finding.subject) ? [finding.subject] : [];
  return [
    ...new Set<SignalKey>([
      'engineSpeed',
      ...(load === undefined ? [] : [load]),
      ...own,
      ...(rule === undefined ? [] : channelSignals(rule, unit)),
    ]),
  ];
}

async function storedState(stores: Stores, unit: Unit): Promise<UnitState> {
  const stored = await stores.log.states({ group: ANALYSIS_GROUP, keys: [unit.id] });
  return decodeState(stored.get(unit.id)?.value);
}

/** Runs the samples of the unit again up to the report, and picks those of the newest point on the way. */
async function replay(
  stores: Stores,
  p: {
    unit: Unit;
    fleet: FleetFile;
    finding: Finding;
    newest: ExplainedPoint | undefined;
    signals: readonly SignalKey[];
  },
): Promise<{ result: Replayed | undefined; rows: readonly SampleRow[] }> {
  const { finding, newest, unit } = p;
  const { falseFindingsPer100UnitsAndWeek } = p.fleet.fleet;
  const context: Context = { unit, falseFindingsPer100UnitsAndWeek };
  const verdicts = (await verdictsOf(stores.log)).filter((verdict) => verdict.unit === unit.id);
  const run = createReplay({ context, verdicts, finding });
  const rows: SampleRow[] = [];
  for await (const { value } of stores.log.scan({ topic: 'samples', key: unit.id })) {
    if (newest !== undefined) rows.push(...rowsIn(value, { ...p, ...newest }));
    if (run.take(value)) break;
  }
  return { result: run.result(), rows };
}

function rowsIn(block: SampleBlock, p: { fromMs: number; toMs: number; signals: readonly SignalKey[] }): SampleRow[] {
  if ((block.t[0] ?? 0) > p.toMs || (block.t.at(-1) ?? 0) < p.fromMs) return [];
  return block.t.flatMap((atMs, index) =>
    atMs < p.fromMs || atMs > p.toMs
      ? []
      : [{ atMs, values: p.signals.map((key) => block.signals[key]?.[index] ?? null) }],
  );
}
