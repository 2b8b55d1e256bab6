import type { Severity } from '../schemas/finding.ts';
import type { TaskState } from '../schemas/task.ts';
import { type ChartData, chartFigure } from './chart.ts';
import { formatDistance, formatMachineTime, formatPercent, formatShortTime, formatSpan, formatTime } from './format.ts';
import { type Html, html } from './html.ts';
import { type PageFrame, page } from './layout.ts';
import { actionMark, type Condition, conditionMark, stateWord } from './marks.ts';

/** One task as the planner's list shows it. */
export type TaskLine = {
  readonly id: string;
  readonly unitName: string;
  readonly placeId: string;
  readonly placeName: string;
  readonly title: string;
  readonly state: TaskState;
  readonly takenBy?: string;
  readonly severity: Severity;
  readonly dueByMs: number;
  readonly dueReason: string;
  readonly reports: number;
  /** True when none of its findings shows in the newest data any more. */
  readonly subsided: boolean;
  /** What the last closing found, in words. */
  readonly found?: string;
  /** Most probable cause, or causes that this unit's sensors cannot tell apart. */
  readonly leading?: { readonly terms: readonly string[]; readonly probability: number };
  readonly sentence: string;
  readonly chart?: ChartData;
};

/** One unit as the fleet overview shows it. */
export type UnitLine = {
  readonly id: string;
  readonly name: string;
  readonly kind: string;
  readonly placeName: string;
  readonly condition: Condition;
  /** End of its newest operating point. */
  readonly lastDataMs?: number;
  /** At work, or closed and not yet proved by data. */
  readonly tasks: readonly { readonly id: string; readonly title: string; readonly state: TaskState }[];
};

/** Which tasks the planner asked for. */
export type PlannerChoice = {
  readonly place: string;
  readonly state: 'work' | 'open' | 'taken' | 'closed' | 'all';
  readonly group: 'due' | 'place';
};

/** What the planner page shows. */
export type PlannerView = {
  readonly choice: PlannerChoice;
  readonly places: readonly { readonly id: string; readonly name: string }[];
  readonly tasks: readonly TaskLine[];
  /** How many tasks fit the choice; more than are listed when the list was cut. */
  readonly fitting: number;
  readonly units: readonly UnitLine[];
  /** Of the tasks at work in the whole fleet, whatever is filtered. */
  readonly counts: { readonly high: number; readonly medium: number; readonly low: number; readonly overdue: number };
};

const STATE_CHOICES = [
  ['work', 'Work to do'],
  ['open', 'Open, nobody has it'],
  ['taken', 'Taken'],
  ['closed', 'Closed and verified'],
  ['all', 'All'],
] as const;

/** The planner's page: tasks by urgency, and how every unit stands. */
export function plannerPage(frame: PageFrame, view: PlannerView): string {
  const main = html`<h1>Inspection tasks</h1>
<p class="lead">As of <time datetime="${formatMachineTime(frame.nowMs)}">${formatTime(frame.nowMs, frame.zone)}</time> (${frame.zone})</p>
<ul class="counts" aria-label="Tasks with work to do">
<li><b>${view.counts.high}</b> ${conditionMark('high')}</li><li><b>${view.counts.medium}</b> ${conditionMark('medium')}</li>
<li><b>${view.counts.low}</b> ${conditionMark('low')}</li><li><b>${view.counts.overdue}</b> ${actionMark('Overdue')}</li>
</ul>
${filterForm(view)}
${taskList(frame, view)}
${view.tasks.length < view.fitting && html`<p class="panel">The first ${view.tasks.length} of ${view.fitting} tasks are shown; choose a place or a state to see fewer.</p>`}
${fleetTable(frame, view)}`;
  return page(frame, { title: 'Inspection tasks', main });
}

function option(value: string, word: string, chosen: string): Html {
  return html`<option value="${value}"${value === chosen && html` selected`}>${word}</option>`;
}

function filterForm({ choice, places }: PlannerView): Html {
  return html`<form class="filter screen-only" method="get" action="/" aria-label="Which tasks to show">
<div class="field"><label for="place">Place</label><select id="place" name="place">${option('', 'All places', choice.place)}${places.map(({ id, name }) => option(id, name, choice.place))}</select></div>
<div class="field"><label for="state">State</label><select id="state" name="state">${STATE_CHOICES.map(([value, word]) => option(value, word, choice.state))}</select></div>
<div class="field"><label for="group">Order</label><select id="group" name="group">${option('due', 'By due time', choice.group)}${option('place', 'By place, then due time', choice.group)}</select></div>
<div class="go"><button>Show</button><a class="button plain" href="/">Reset</a></div>
</form>`;
}

function taskList(frame: PageFrame, view: PlannerView): Html {
  if (view.tasks.length === 0) {
    return html`<p class="panel">${view.choice.state === 'work' && view.choice.place === '' ? 'No inspection is due on any unit.' : 'No task fits this choice.'}</p>`;
  }
  if (view.choice.group === 'due')
    return html`<h2 class="place">${view.choice.state === 'closed' ? 'Newest first' : 'Most urgent first'}</h2><ul class="tasks">${view.tasks.map((task) => taskItem(frame, task))}</ul>`;
  return html`${view.places.map(({ id, name }) => {
    const here = view.tasks.filter(({ placeId }) => placeId === id);
    if (here.length === 0) return html``;
    return html`<h2 class="place">${name} <span class="quiet">${here.length === 1 ? '1 task' : `${here.length} tasks`}</span></h2><ul class="tasks">${here.map((task) => taskItem(frame, task))}</ul>`;
  })}`;
}

/** Whether work on a task in this state is still to be done. */
function isWork(state: TaskState): boolean {
  return state === 'open' || state === 'taken' || state === 'reopened';
}

function taskItem(frame: PageFrame, task: TaskLine): Html {
  const overdue = isWork(task.state) && !task.subsided && task.dueByMs < frame.nowMs;
  return html`<li><article class="task ${isWork(task.state) && !task.subsided ? task.severity : 'done'}" aria-labelledby="t-${task.id}">
<div class="when">
${conditionMark(task.severity)}
${
  isWork(task.state)
    ? html`<p class="big">${overdue ? actionMark(`${formatSpan(task.dueByMs - frame.nowMs)} overdue`) : task.subsided ? 'No longer present' : `Due ${formatDistance(task.dueByMs, frame.nowMs)}`}</p>
<p class="exact quiet">Inspect before <time datetime="${formatMachineTime(task.dueByMs)}">${formatShortTime(task.dueByMs, frame.zone)}</time></p>`
    : html`<p class="big">${stateWord(task.state)}</p>`
}
</div>
<div class="what">
<h3 id="t-${task.id}"><a href="/tasks/${task.id}">${task.unitName}: ${task.title}</a></h3>
<p class="facts"><span>${task.placeName}</span><span>${stateWord(task.state)}${task.takenBy === undefined ? '' : ` by ${task.takenBy}`}</span>${task.reports > 1 && html`<span>reported ${task.reports} times</span>`}</p>
${task.found !== undefined && html`<p>Found: <span class="cause">${task.found}</span></p>`}
${task.found === undefined && task.leading !== undefined && leadingPart(task.leading)}
<p>${task.sentence}</p>
${isWork(task.state) && html`<p class="quiet">Due because: ${task.dueReason}.</p>`}
</div>
${task.chart !== undefined && chartFigure(task.chart)}
</article></li>`;
}

function fleetTable(frame: PageFrame, { units }: PlannerView): Html {
  return html`<section id="fleet" aria-labelledby="fleet-head"><h2 id="fleet-head">Fleet</h2>
<table class="fleet"><thead><tr><th scope="col">Unit</th><th scope="col">Place</th><th scope="col">Condition</th><th scope="col">Last data</th><th scope="col">Tasks</th></tr></thead>
<tbody>${units.map(
    (unit) => html`<tr><th scope="row">${unit.name}<br><span class="quiet">${unit.kind}</span></th>
<td data-label="Place">${unit.placeName}</td><td>${conditionMark(unit.condition)}</td>
<td data-label="Last data">${unit.lastDataMs === undefined ? 'none' : html`<time datetime="${formatMachineTime(unit.lastDataMs)}">${formatShortTime(unit.lastDataMs, frame.zone)}</time>, ${formatDistance(unit.lastDataMs, frame.nowMs)}`}</td>
<td class="tall" data-label="Tasks">${unit.tasks.length === 0 ? 'none' : unit.tasks.map(({ id, title, state }, index) => html`${index > 0 && html`<br>`}<a href="/tasks/${id}">${title}${state === 'closed' && ` (${stateWord(state).toLowerCase()})`}</a>`)}</td></tr>`,
  )}</tbody></table></section>`;
}

/** Causes beyond these are counted, not named: the task itself lists all. */
const NAMED_CAUSES = 3;

function leadingPart({ terms, probability }: NonNullable<TaskLine['leading']>): Html {
  if (terms.length === 1)
    return html`<p>Leading cause: <span class="cause">${terms[0]}</span>, ${formatPercent(probability)}</p>`;
  const named = terms.slice(0, NAMED_CAUSES);
  const more = terms.length - named.length;
  return html`<p>Leading causes, not told apart by this unit’s sensors: <span class="cause">${named.join('; ')}${more > 0 && ` and ${more} more`}</span>, together ${formatPercent(probability)}</p>`;
}
