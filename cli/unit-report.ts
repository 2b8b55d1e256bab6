import { causeFacts } from '../alerts/checklists/causes.ts';
import { chartPoints } from '../alerts/http/chart-points.ts';
import { describeUnit } from '../alerts/http/views.ts';
import { listTasks } from '../alerts/tasks.ts';
import { channelLimit } from '../analysis/detection/channel-limit.ts';
import { driversOf } from '../analysis/detection/drivers.ts';
import { channelOf } from '../analysis/health/explain.ts';
import { decodeState, type UnitState } from '../analysis/state.ts';
import { ANALYSIS_GROUP } from '../analysis/worker.ts';
import { CHANNEL_KEYS, type ChannelKey } from '../schemas/channel.ts';
import { FINDING_KINDS, type Finding } from '../schemas/finding.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import type { Task } from '../schemas/task.ts';
import { BOOST_CONTROLS, CHARGING, COOLERS, DUTIES, type Unit } from '../schemas/unit.ts';
import { MAINTENANCE_WORK, type Verdict } from '../schemas/verdict.ts';
import type { ChartData, ChartMark } from '../web/chart.ts';
import { capital, describeSubject, formatNumber, formatTime } from '../web/format.ts';
import type { OperatingMap } from '../web/operating-map.ts';
import type { ReportFinding, UnitReportView } from '../web/unit-report-page.ts';
import { CommandFault } from './command-fault.ts';
import { createIndicatorTable, SPELL } from './report-indicators.ts';
import { verdictsOf } from './run-backtest.ts';
import type { UnitCoverage } from './unit-coverage.ts';
import { unitCoverage } from './unit-coverage.ts';
import type { Stores } from './wiring.ts';

const DAY_MS = 24 * 3_600_000;
/** Columns of a chart, and fine parts that each is joined from. */
const COLUMNS = 60;
const PARTS = 60 * 8;

type Told = {
  readonly findings: readonly Finding[];
  readonly tasks: readonly Task[];
  readonly verdicts: readonly Verdict[];
};
type Span = { readonly fromMs: number; readonly toMs: number };

/**
 * Everything that the report of a unit shows, over the newest days of its history.
 *
 * @throws CommandFault when the history has nothing of the unit.
 */
export async function unitReport(p: {
  stores: Stores;
  fleet: FleetFile;
  unit: Unit;
  days: number;
}): Promise<UnitReportView> {
  const { fleet, stores, unit } = p;
  const extent = await stores.history.extent({ unit: unit.id });
  if (extent === undefined)
    throw new CommandFault({
      message: `There is no operating point of ${unit.id} yet; load its logs with: chargeair load FILE`,
    });
  const span = { fromMs: Math.max(extent.fromMs, extent.toMs - p.days * DAY_MS), toMs: extent.toMs + 1 };
  const stored = await stores.log.states({ group: ANALYSIS_GROUP, keys: [unit.id] });
  const state = decodeState(stored.get(unit.id)?.value);
  const told = await toldOf(p, span);
  const points: { speed: number; load: number }[] = [];
  const indicators = createIndicatorTable(span);
  const channels = new Set<ChannelKey>();
  for await (const point of stores.history.points({ unit: unit.id, ...span })) {
    const drivers = driversOf(point.point, unit);
    indicators.take(point, drivers?.load);
    for (const key of Object.keys(point.channels)) channels.add(key as ChannelKey);
    if (drivers?.load !== undefined) points.push({ speed: drivers.speed, load: drivers.load });
  }
  const charts = await Promise.all(
    CHANNEL_KEYS.filter((key) => channels.has(key)).map((channel) => chartOf({ ...p, channel, span, told })),
  );
  const [coverage] = await unitCoverage({ stores, fleet, units: [unit] });
  const { placeName, unitKind } = describeUnit(fleet, unit.id);
  const zone = fleet.fleet.timeZone;
  return {
    unitName: unit.name,
    unitKind: capital(unitKind),
    placeName,
    zone,
    ...span,
    facts: factsOf(unit, { coverage, zone }),
    findings: told.findings.map(findingLine),
    tasks: told.tasks.map(({ openedAtMs, state: at, title }) => ({ title, state: at, openedMs: openedAtMs })),
    work: told.verdicts.map((verdict) => ({
      atMs: verdict.atMs,
      found: verdict.found === 'none_found' ? 'nothing' : causeFacts(verdict.found).term,
      done: verdict.work.map((work) => MAINTENANCE_WORK[work]).join(', '),
      note: verdict.note,
    })),
    charts: charts.flatMap((chart) => chart ?? []),
    map: { points, ...envelopeOf(state) },
    indicators: indicators.lines(),
    spell: SPELL,
  };
}

async function toldOf(p: { stores: Stores; unit: Unit }, span: Span): Promise<Told> {
  const newest = new Map<string, Finding>();
  for await (const { value } of p.stores.log.scan({ topic: 'findings', key: p.unit.id })) newest.set(value.id, value);
  const findings = [...newest.values()].filter(({ updatedAtMs }) => updatedAtMs >= span.fromMs);
  const tasks = await listTasks({ log: p.stores.log, filter: { units: [p.unit.id] } });
  const verdicts = (await verdictsOf(p.stores.log)).filter(({ unit }) => unit === p.unit.id);
  return {
    findings: findings.sort((a, b) => a.atMs - b.atMs || (a.id < b.id ? -1 : 1)),
    tasks: tasks.sort((a, b) => a.openedAtMs - b.openedAtMs),
    verdicts: [...verdicts].sort((a, b) => a.atMs - b.atMs),
  };
}

async function chartOf(p: {
  stores: Stores;
  fleet: FleetFile;
  unit: Unit;
  channel: ChannelKey;
  span: Span;
  told: Told;
}): Promise<ChartData | undefined> {
  const { channel, span, unit } = p;
  const of = { kind: 'channel', name: channel } as const;
  const fine = await p.stores.history.series({ unit: unit.id, of, ...span, buckets: PARTS });
  const { departures, points } = chartPoints({ fine, ...span, columns: COLUMNS });
  if (points.length === 0) return undefined;
  const { term, unit: symbol } = describeSubject(channel);
  const limit = departures ? undefined : channelLimit(channel, { unit, speedRpm: unit.engine.ratedSpeedRpm });
  return {
    id: `report-${channel}`,
    term: departures ? `${capital(term)} minus expected` : capital(term),
    // A difference of temperatures is in kelvin.
    unit: departures && symbol === '°C' ? 'K' : symbol,
    zone: p.fleet.fleet.timeZone,
    ...span,
    points,
    marks: marksOf(channel, p.told),
    ...(limit === undefined
      ? {}
      : { limit: { value: limit.value, label: `limit ${formatNumber(limit.value)} ${symbol}` } }),
  };
}

/** Findings of this channel, tasks that hold them, and all work on the unit. */
function marksOf(channel: ChannelKey, told: Told): ChartMark[] {
  const own = told.findings.filter(({ subject }) => channelOf(subject) === channel);
  const open = own.find(({ state }) => state === 'open');
  const tasks = told.tasks.filter(({ findings }) => findings.some(({ subject }) => channelOf(subject) === channel));
  return [
    ...(open === undefined ? [] : [{ atMs: open.sinceMs, label: 'onset', kind: 'onset' } as const]),
    ...own
      .filter(({ state }) => state === 'cleared')
      .map(({ atMs }) => ({ atMs, label: 'finding, since cleared', kind: 'report' }) as const),
    ...tasks.map(({ openedAtMs }) => ({ atMs: openedAtMs, label: 'task', kind: 'report' }) as const),
    ...told.verdicts.map(({ atMs }) => ({ atMs, label: 'work', kind: 'work' }) as const),
  ];
}

function findingLine(finding: Finding): ReportFinding {
  const [cause] = finding.causes;
  return {
    term: capital(FINDING_KINDS[finding.kind]),
    severity: finding.severity,
    sinceMs: finding.sinceMs,
    ...(finding.state === 'cleared' ? { clearedMs: finding.updatedAtMs } : {}),
    sentence: finding.evidence.sentence,
    ...(cause === undefined ? {} : { cause: { term: causeFacts(cause.cause).term, probability: cause.probability } }),
  };
}

/** Of the channel that has learnt most: every other lies within it or near it. */
function envelopeOf(state: UnitState): Pick<OperatingMap, 'envelope'> {
  const learnt = Object.values(state.channels)
    .map(({ expectation }) => expectation)
    .sort((a, b) => b.points - a.points)[0];
  return learnt === undefined ? {} : { envelope: learnt.envelope };
}

function factsOf(
  unit: Unit,
  p: { coverage: UnitCoverage | undefined; zone: string },
): readonly (readonly [string, string])[] {
  const { engine } = unit;
  const { coverage } = p;
  const stages = (stage: string) => coverage?.channels.filter((one) => one.stage === stage).length ?? 0;
  const share = (value: number | null | undefined) =>
    value === null || value === undefined ? 'not known yet' : `${(100 * value).toFixed(0)} %`;
  const sensor = coverage?.furtherSensor;
  return [
    ['Engine', `${formatNumber(engine.ratedPowerKw)} kW at ${engine.ratedSpeedRpm} rpm, ${engine.displacementL} L`],
    ['Charging', `${CHARGING[engine.charging]}, boost control: ${BOOST_CONTROLS[engine.boostControl]}`],
    ['Charge-air cooler', COOLERS[engine.cooler]],
    ['Duty', DUTIES[unit.duty].term],
    ['Running hours in the data', (coverage?.runningHours ?? 0).toFixed(0)],
    [
      'Newest data',
      coverage === undefined || coverage.lastDataMs === null ? 'none' : formatTime(coverage.lastDataMs, p.zone),
    ],
    ['Running time in operating points', share(coverage?.sharePoints)],
    ['Readings judged after learning', share(coverage?.shareJudged)],
    ['Channels', `${stages('learnt')} learnt, ${stages('learning')} learning, ${stages('given_up')} given up`],
    ['False findings asked for', `${coverage?.falseFindingsPer100UnitsAndWeek ?? 0} per 100 units and week`],
    [
      'Further sensor that would tell most',
      sensor === null || sensor === undefined
        ? 'none'
        : `${describeSubject(sensor.signal).term} (${sensor.bits.toFixed(2)} bit about ${sensor.about === 'open_findings' ? 'the open findings' : 'the usual causes'})`,
    ],
    ['Limits', unit.limits.source],
  ];
}
