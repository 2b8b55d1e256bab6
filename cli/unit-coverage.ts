import { CHANNEL_RULES, isFitted } from '../analysis/detection/channel-table.ts';
import { type SensorGain, sensorGains } from '../analysis/health/sensor-gain.ts';
import { decodeState, type UnitState } from '../analysis/state.ts';
import { ANALYSIS_GROUP } from '../analysis/worker.ts';
import type { ChannelKey } from '../schemas/channel.ts';
import type { Finding } from '../schemas/finding.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import type { Unit } from '../schemas/unit.ts';
import type { HistoryPort } from '../storage/history/port.ts';
import type { Stores } from './wiring.ts';

/** How far a channel that the unit has the sensors for has come. */
export type ChannelCoverage = {
  readonly channel: ChannelKey;
  /** `given_up`: in all the hours of learning it never had enough points; work on the unit begins it anew. */
  readonly stage: 'learnt' | 'learning' | 'given_up';
  /** Since when: of a learnt one its first judged point, else the point that its learning began with. */
  readonly sinceMs: number | null;
  /** Of a learnt one, in standard deviations of an hour. */
  readonly decisionInterval: number | null;
};

/** What the analysis has of a unit, and how well it can judge it. */
export type UnitCoverage = {
  readonly unit: string;
  readonly name: string;
  /** Newest sample, whether the engine ran or not; `null` without any. */
  readonly lastDataMs: number | null;
  readonly runningHours: number;
  /** Share of the running time that went into operating points; `null` before the engine has run. */
  readonly sharePoints: number | null;
  readonly points: number;
  /** Share of all channel readings after learning that could be judged; `null` without any. */
  readonly shareJudged: number | null;
  readonly channels: readonly ChannelCoverage[];
  readonly falseFindingsPer100UnitsAndWeek: number;
  readonly openFindings: readonly {
    readonly id: string;
    readonly kind: Finding['kind'];
    readonly severity: Finding['severity'];
  }[];
  /** The sensor that would tell most, and whether about the open findings or about the usual causes; `null` when none would. */
  readonly furtherSensor: (SensorGain & { readonly about: 'open_findings' | 'usual_causes' }) | null;
};

const HOUR_MS = 3_600_000;

/** Coverage of the given units, in their order. */
export async function unitCoverage(p: {
  stores: Stores;
  fleet: FleetFile;
  units: readonly Unit[];
}): Promise<readonly UnitCoverage[]> {
  const { fleet, stores, units } = p;
  const stored = await stores.log.states({ group: ANALYSIS_GROUP, keys: units.map(({ id }) => id) });
  const open = await openFindings(stores);
  const usual = new Map<string, readonly SensorGain[]>();
  const lines: UnitCoverage[] = [];
  for (const unit of units) {
    const state = decodeState(stored.get(unit.id)?.value);
    const seen = await seenInHistory(stores.history, unit);
    const own = open.filter((finding) => finding.unit === unit.id);
    const { runningMs, usedMs } = state.steady;
    lines.push({
      unit: unit.id,
      name: unit.name,
      lastDataMs: stored.has(unit.id) && state.steady.lastMs > 0 ? state.steady.lastMs : null,
      runningHours: Number((runningMs / HOUR_MS).toFixed(1)),
      sharePoints: runningMs === 0 ? null : Number((usedMs / runningMs).toFixed(3)),
      points: seen.points,
      shareJudged: seen.after === 0 ? null : Number((seen.judged / seen.after).toFixed(3)),
      channels: channelsOf(unit, { state, seen }),
      falseFindingsPer100UnitsAndWeek: fleet.fleet.falseFindingsPer100UnitsAndWeek,
      openFindings: own.map(({ id, kind, severity }) => ({ id, kind, severity })),
      furtherSensor: furtherSensor(unit, { own, usual }),
    });
  }
  return lines;
}

async function openFindings(stores: Stores): Promise<readonly Finding[]> {
  const newest = new Map<string, Finding>();
  for await (const { value } of stores.log.scan({ topic: 'findings' })) newest.set(value.id, value);
  return [...newest.values()].filter(({ state }) => state === 'open');
}

type Seen = {
  points: number;
  after: number;
  judged: number;
  /** First judged point since a channel was learnt last, and first point of its learning. */
  readonly judgedSince: Map<ChannelKey, number>;
  readonly learningSince: Map<ChannelKey, number>;
};

async function seenInHistory(history: HistoryPort, unit: Unit): Promise<Seen> {
  const seen: Seen = { points: 0, after: 0, judged: 0, judgedSince: new Map(), learningSince: new Map() };
  const extent = await history.extent({ unit: unit.id });
  if (extent === undefined) return seen;
  for await (const { channels, point } of history.points({ unit: unit.id, ...extent, toMs: extent.toMs + 1 })) {
    seen.points += 1;
    for (const [key, reading] of Object.entries(channels)) {
      const channel = key as ChannelKey;
      if (reading === undefined) continue;
      if (reading.judgement === 'learning') {
        // Learnt anew after work on the unit: what was before no longer counts.
        if (seen.judgedSince.delete(channel)) seen.learningSince.delete(channel);
        if (!seen.learningSince.has(channel)) seen.learningSince.set(channel, point.fromMs);
        continue;
      }
      seen.after += 1;
      if (reading.judgement !== 'judged') continue;
      seen.judged += 1;
      if (!seen.judgedSince.has(channel)) seen.judgedSince.set(channel, point.fromMs);
    }
  }
  return seen;
}

function channelsOf(unit: Unit, p: { state: UnitState; seen: Seen }): readonly ChannelCoverage[] {
  const { seen, state } = p;
  const givenUp = state.pool === null && state.ticksPerWeek !== null;
  return CHANNEL_RULES.filter((rule) => isFitted(rule, unit)).map(({ key }): ChannelCoverage => {
    const learnt = state.channels[key];
    if (learnt !== undefined) {
      const { decisionInterval } = learnt.chart;
      return { channel: key, stage: 'learnt', sinceMs: seen.judgedSince.get(key) ?? null, decisionInterval };
    }
    const sinceMs = seen.learningSince.get(key) ?? null;
    return { channel: key, stage: givenUp ? 'given_up' : 'learning', sinceMs, decisionInterval: null };
  });
}

/** For the open finding in which most is left in doubt, else for the fitted sensors in general. */
function furtherSensor(
  unit: Unit,
  p: { own: readonly Finding[]; usual: Map<string, readonly SensorGain[]> },
): UnitCoverage['furtherSensor'] {
  const ofFindings = p.own
    .filter(({ detector }) => detector !== 'plausibility')
    .flatMap((finding) => sensorGains(unit, finding.causes).slice(0, 1))
    .sort((a, b) => b.bits - a.bits)[0];
  if (ofFindings !== undefined) return { ...ofFindings, about: 'open_findings' };
  // A fleet has few kinds of units, and the calculation takes longer than everything else of the line.
  const { boostControl, cooler } = unit.engine;
  const kind = JSON.stringify([Object.keys(unit.sensors).sort(), boostControl, cooler, unit.priors]);
  const gains = p.usual.get(kind) ?? sensorGains(unit);
  p.usual.set(kind, gains);
  const [best] = gains;
  return best === undefined ? null : { ...best, about: 'usual_causes' };
}
