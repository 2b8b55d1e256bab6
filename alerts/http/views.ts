import { type Finding, SEVERITIES } from '../../schemas/finding.ts';
import type { FleetFile } from '../../schemas/fleet-file.ts';
import { SIGNAL_KEYS, SIGNALS } from '../../schemas/signals.ts';
import type { Task, TaskState } from '../../schemas/task.ts';
import { UNIT_KINDS } from '../../schemas/unit.ts';
import type { HistoryPort } from '../../storage/history/port.ts';
import type { LogPort } from '../../storage/log/port.ts';
import type { PlannerChoice, PlannerView, TaskLine, UnitLine } from '../../web/planner-page.ts';
import type { CloseChoices } from '../../web/task-forms.ts';
import type { TaskView } from '../../web/task-page.ts';
import { isActive } from '../book/book.ts';
import { FAILURE_MECHANISMS, FAILURE_MODES } from '../book/failure-codes.ts';
import { rankFindings } from '../book/refresh-advice.ts';
import { CAUSES } from '../checklists/cause-table.ts';
import { causeFacts } from '../checklists/causes.ts';
import { CHARTED_TASKS_MAX, LISTED_TASKS_MAX } from '../limits.ts';
import { listTasks } from '../tasks.ts';
import type { FindingsView } from './findings-view.ts';
import { taskChart } from './task-chart.ts';
import { unitCondition } from './unit-condition.ts';

/** What the pages and the interface read from. */
export type Sources = {
  readonly log: LogPort;
  readonly history: HistoryPort;
  readonly fleet: FleetFile;
  readonly findings: FindingsView;
  /** Time now, ms since 1970 UTC. */
  readonly clock: () => number;
};

const CHOSEN_STATES: Readonly<Record<PlannerChoice['state'], readonly TaskState[]>> = {
  work: ['open', 'taken', 'reopened'],
  open: ['open', 'reopened'],
  taken: ['taken'],
  closed: ['closed', 'verified'],
  all: ['open', 'taken', 'reopened', 'closed', 'verified'],
};

/** Everything that the planner page shows for a choice of tasks. */
export async function plannerView(sources: Sources, choice: PlannerChoice): Promise<PlannerView> {
  const { fleet } = sources;
  const tasks = await listTasks({ log: sources.log });
  const placeOf = new Map(fleet.units.map(({ id, place }) => [id, place]));
  const nowMs = sources.clock();
  const fitting = tasks.filter(
    (task) =>
      CHOSEN_STATES[choice.state].includes(task.state) &&
      (choice.place === '' || placeOf.get(task.unit) === choice.place),
  );
  if (choice.state === 'closed') fitting.sort((a, b) => b.updatedAtMs - a.updatedAtMs || (a.id < b.id ? -1 : 1));
  else fitting.sort(byUrgency(nowMs));
  const chosen = fitting.slice(0, LISTED_TASKS_MAX);
  const work = tasks.filter(isActive);
  const bySeverity = (severity: Task['severity']) => work.filter((task) => task.severity === severity).length;
  return {
    choice,
    places: fleet.places.map(({ id, name }) => ({ id, name })),
    tasks: await Promise.all(chosen.map((task, index) => taskLine(sources, task, index < CHARTED_TASKS_MAX))),
    fitting: fitting.length,
    units: (await unitLines(sources, tasks)).filter(({ placeId }) => choice.place === '' || placeId === choice.place),
    counts: {
      high: bySeverity('high'),
      medium: bySeverity('medium'),
      low: bySeverity('low'),
      overdue: work.filter((task) => !isSubsided(task) && task.dueByMs < nowMs).length,
    },
  };
}

async function taskLine(sources: Sources, task: Task, charted: boolean): Promise<TaskLine> {
  const { unitName, placeId, placeName } = describeUnit(sources.fleet, task.unit);
  const finding = rankFindings(task.findings)[0];
  const chart =
    finding === undefined || !charted
      ? undefined
      : await taskChart({ ...sources, task, finding, zone: sources.fleet.fleet.timeZone });
  const leading = task.causeGroups[0];
  return {
    id: task.id,
    unitName,
    placeId,
    placeName,
    title: task.title,
    state: task.state,
    ...(task.takenBy === undefined ? {} : { takenBy: task.takenBy }),
    severity: task.severity,
    ...(task.verdict === undefined ? {} : { found: foundWords(task.verdict.found) }),
    dueByMs: task.dueByMs,
    dueReason: task.dueReason,
    reports: task.reports,
    subsided: isSubsided(task),
    ...(leading === undefined
      ? {}
      : {
          leading: { terms: leading.causes.map((cause) => causeFacts(cause).term), probability: leading.probability },
        }),
    sentence: finding?.sentence ?? '',
    ...(chart === undefined ? {} : { chart }),
  };
}

/** What still shows before what has gone; of that what is overdue, worst first; then by due time. */
function byUrgency(nowMs: number): (a: Task, b: Task) => number {
  const rank = (task: Task) => {
    if (isSubsided(task)) return 1;
    return task.dueByMs < nowMs ? -1 - SEVERITIES.indexOf(task.severity) : 0;
  };
  return (a, b) => rank(a) - rank(b) || a.dueByMs - b.dueByMs || (a.id < b.id ? -1 : 1);
}

function isSubsided(task: Task): boolean {
  return task.findings.every(({ cleared }) => cleared);
}

function foundWords(found: string): string {
  return found === 'none_found' ? 'nothing' : causeFacts(found).term;
}

/** Name, kind and place of a unit for people; of a unit that left the fleet file its id. */
export function describeUnit(
  fleet: FleetFile,
  id: string,
): { unitName: string; unitKind: string; placeId: string; placeName: string } {
  const unit = fleet.units.find((candidate) => candidate.id === id);
  const place = fleet.places.find((candidate) => candidate.id === unit?.place);
  return {
    unitName: unit?.name ?? id,
    unitKind: unit === undefined ? 'unit that left the fleet file' : UNIT_KINDS[unit.kind],
    placeId: place?.id ?? '',
    placeName: place?.name ?? 'no place',
  };
}

/** Every unit of the fleet file with its condition and its tasks at work, in the order of the file. */
export async function unitLines(sources: Sources, tasks: readonly Task[]): Promise<(UnitLine & { placeId: string })[]> {
  const findings = [...(await sources.findings.current()).values()];
  const nowMs = sources.clock();
  return Promise.all(
    sources.fleet.units.map(async (unit) => {
      const latest = await sources.history.latest({ unit: unit.id });
      const own: Finding[] = findings.filter((finding) => finding.unit === unit.id);
      const { unitName, unitKind, placeId, placeName } = describeUnit(sources.fleet, unit.id);
      return {
        id: unit.id,
        name: unitName,
        kind: unitKind,
        placeId,
        placeName,
        condition: unitCondition({ findings: own, latest, nowMs }),
        ...(latest === undefined ? {} : { lastDataMs: latest.point.toMs }),
        tasks: tasks
          .filter((task) => task.unit === unit.id && (isActive(task) || task.state === 'closed'))
          .map(({ id, title, state }) => ({ id, title, state })),
      };
    }),
  );
}

const CHARTS_MAX = 3;

/** Everything that the page of a task shows, without what was just sent. */
export async function taskView(sources: Sources, task: Task): Promise<Omit<TaskView, 'who'>> {
  const zone = sources.fleet.fleet.timeZone;
  const subjects = new Map(
    rankFindings(isSubsided(task) ? task.findings : task.findings.filter(({ cleared }) => !cleared))
      .reverse()
      .map((finding) => [finding.subject, finding]),
  );
  const shown = [...subjects.values()].reverse().slice(0, CHARTS_MAX);
  const charts = await Promise.all(shown.map((finding) => taskChart({ ...sources, task, finding, zone })));
  const { unitName, unitKind, placeName } = describeUnit(sources.fleet, task.unit);
  const named = [...task.causes.map(({ cause }) => cause), ...task.checks.flatMap(({ bearsOn }) => bearsOn)];
  const found = [...task.earlierVerdicts, ...(task.verdict === undefined ? [] : [task.verdict])].map(
    (verdict) => verdict.found,
  );
  return {
    task,
    unitName,
    unitKind,
    placeName,
    charts: charts.filter((chart) => chart !== undefined),
    causeTerms: Object.fromEntries([...named, ...found].map((id) => [id, causeFacts(id).term])),
    choices: closeChoices(task),
  };
}

function closeChoices(task: Task): CloseChoices {
  const likely = task.causes.map(({ cause }) => cause).filter((id) => id !== 'unknown');
  const others = Object.keys(CAUSES).filter((id) => id !== 'unknown' && !likely.includes(id));
  const named = (ids: readonly string[]) => ids.map((id) => ({ id, term: causeFacts(id).term }));
  return {
    likely: named(likely),
    others: named(others),
    signals: SIGNAL_KEYS.map((id) => ({ id, term: SIGNALS[id].term })),
    failureModes: FAILURE_MODES,
    failureMechanisms: FAILURE_MECHANISMS,
  };
}
