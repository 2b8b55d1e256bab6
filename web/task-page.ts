import type { Check, CheckStage, Task } from '../schemas/task.ts';
import { MAINTENANCE_WORK } from '../schemas/verdict.ts';
import { type ChartData, chartFigure } from './chart.ts';
import {
  capital,
  formatDistance,
  formatMachineTime,
  formatNumber,
  formatPercent,
  formatShortTime,
  formatSpan,
  formatTime,
} from './format.ts';
import { type Html, html } from './html.ts';
import { type PageFrame, page } from './layout.ts';
import { actionMark, conditionMark, stateWord } from './marks.ts';
import { type CloseChoices, closeForm, type FormProblem, measureForm, takeForm } from './task-forms.ts';

/** What the page of one task shows. */
export type TaskView = {
  readonly task: Task;
  readonly unitName: string;
  readonly unitKind: string;
  readonly placeName: string;
  /** Most telling first. */
  readonly charts: readonly ChartData[];
  /** Words of every cause id that the task or its steps name. */
  readonly causeTerms: Readonly<Record<string, string>>;
  readonly choices: CloseChoices;
  /** Name that the reader gave last time. */
  readonly who: string;
  /** What was just done, to be said on top. */
  readonly done?: string;
  readonly problem?: FormProblem;
};

const STAGE_WORDS: Readonly<Record<CheckStage, string>> = {
  codes_and_log: 'Read codes and log',
  sensor: 'Check the sensor',
  look_and_listen: 'Look and listen',
  measure: 'Measure',
  open: 'Open',
};

/** The page of one task, which is its work sheet when printed. */
export function taskPage(frame: PageFrame, view: TaskView): string {
  const { task } = view;
  const working = task.state === 'open' || task.state === 'taken' || task.state === 'reopened';
  const overdue = working && task.dueByMs < frame.nowMs;
  const main = html`<p class="screen-only"><a href="/">All tasks</a></p>
<h1>${view.unitName}: ${task.title}</h1>
<p class="lead">${view.unitKind}, ${view.placeName}. Task ${task.id}</p>
${view.done !== undefined && html`<p class="message done" role="status">${view.done}</p>`}
${view.problem !== undefined && html`<div class="message wrong" role="alert"><h2>Not recorded</h2><p><a href="#${view.problem.anchor}">${view.problem.detail}</a></p></div>`}
<ul class="counts"><li>${conditionMark(task.severity)}</li><li><span><strong>${stateWord(task.state)}</strong>${task.takenBy === undefined ? '' : ` by ${task.takenBy}`}</span></li>
${working && html`<li>${overdue ? actionMark(`${formatSpan(task.dueByMs - frame.nowMs)} overdue`) : html`Due ${formatDistance(task.dueByMs, frame.nowMs)}`}</li><li><span>Inspect before <time datetime="${formatMachineTime(task.dueByMs)}">${formatTime(task.dueByMs, frame.zone)}</time></span></li>`}</ul>
${working && html`<p class="quiet">Due because: ${task.dueReason}.</p>`}
<div class="sheet"><div>
${verdictPart(view)}
${evidencePart(frame, view)}
<section aria-labelledby="before"><h2 id="before">Before any step</h2><div class="caution-box"><ul class="cautions">${task.cautions.map((caution) => html`<li>${caution}</li>`)}</ul></div></section>
${stepsPart(view, working)}
</div><div class="aside">
${causesPart(view)}
${
  working &&
  html`<section class="screen-only" aria-labelledby="take-head"><h2 id="take-head">Take it on</h2>${takeForm(view)}</section>
<section class="screen-only" aria-labelledby="close-head"><h2 id="close-head">Close with what was found</h2>${closeForm(view)}</section>`
}
${working && paperClose()}
${historyPart(frame, task)}
</div></div>`;
  return page(frame, { title: `${view.unitName}: ${task.title}`, main });
}

function verdictPart({ task, causeTerms }: TaskView): Html {
  const { verdict } = task;
  if (verdict === undefined) return html``;
  const found = verdict.found === 'none_found' ? 'nothing found' : (causeTerms[verdict.found] ?? verdict.found);
  return html`<div class="panel"><h2>${stateWord(task.state)}</h2><p><strong>Found: ${found}.</strong> ${capital(verdict.work.map((work) => MAINTENANCE_WORK[work]).join('; '))}.</p>
${verdict.note !== '' && html`<p>${verdict.note}</p>`}
${(verdict.failureMode !== undefined || verdict.failureMechanism !== undefined) && html`<p class="quiet">ISO 14224: ${[verdict.failureMode, verdict.failureMechanism].filter((code) => code !== undefined).join(', ')}</p>`}
<p class="quiet">By ${verdict.who}. ${task.state === 'verified' ? 'Data after the work no longer show the departure.' : 'The next steady hours must show the departure gone; else the task reopens.'}</p></div>`;
}

function findingList(frame: PageFrame, findings: Task['findings']): Html {
  if (findings.length === 0) return html``;
  return html`<ul class="cautions">${findings.map((finding) => html`<li>${finding.sentence} <span class="quiet">Since about ${formatShortTime(finding.sinceMs, frame.zone)}.</span></li>`)}</ul>`;
}

function evidencePart(frame: PageFrame, { task, charts }: TaskView): Html {
  const gone = task.findings.filter(({ cleared }) => cleared);
  return html`<section aria-labelledby="why"><h2 id="why">Why</h2>
${findingList(
  frame,
  task.findings.filter(({ cleared }) => !cleared),
)}
${gone.length > 0 && html`<details${gone.length === task.findings.length && html` open`}><summary>${gone.length === 1 ? 'One departure that is no longer present' : `${gone.length} departures that are no longer present`}</summary>${findingList(frame, gone)}</details>`}
${task.troubleCodes.length > 0 && html`<p>The engine’s own diagnosis shows: <strong>${task.troubleCodes.join(', ')}</strong></p>`}
${charts.map(chartFigure)}</section>`;
}

function causesPart({ task, causeTerms }: TaskView): Html {
  return html`<section aria-labelledby="causes-head"><h2 id="causes-head">Likely causes</h2>
<ul class="causes">${task.causes.map(({ cause, probability }) => html`<li><span>${causeTerms[cause] ?? cause}</span><strong>${formatPercent(probability)}</strong><svg viewBox="0 0 100 8" preserveAspectRatio="none" aria-hidden="true"><rect class="track" width="100" height="8"/><rect class="part" width="${Math.round(probability * 100)}" height="8"/></svg></li>`)}</ul>
${task.causeGroups.filter(({ causes }) => causes.length > 1).map(({ causes, probability }) => html`<p>This unit’s sensors cannot tell apart: ${causes.map((cause) => causeTerms[cause] ?? cause).join('; ')}. Together ${formatPercent(probability)}.</p>`)}
${task.separatingChecks.length > 0 && html`<h3>What tells them apart</h3><ul class="cautions">${task.separatingChecks.map((check) => html`<li>${check}</li>`)}</ul>`}
<p class="quiet">Probabilities rest on the pattern of all departures. Let the steps decide before a part is taken off: a sound turbocharger is often the one removed.</p></section>`;
}

function stepsPart(view: TaskView, working: boolean): Html {
  const { checks } = view.task;
  const stages = [...new Set(checks.map(({ stage }) => stage))];
  return html`<section aria-labelledby="steps-head"><h2 id="steps-head">Steps, least dismantling first</h2>
<p class="quiet">Stop where a step settles it.</p>
${stages.map((stage) => {
  const first = checks.findIndex((check) => check.stage === stage);
  const items = checks.filter((check) => check.stage === stage);
  return html`<h3 class="stage">${STAGE_WORDS[stage]}</h3><ol class="steps" start="${first + 1}">${items.map((check, index) => stepItem({ view, check, number: first + index + 1, working }))}</ol>`;
})}</section>`;
}

function stepItem(p: { view: TaskView; check: Check; number: number; working: boolean }): Html {
  const { view, check } = p;
  const values = view.task.measurements.filter((value) => value.check === check.id);
  const bears = check.bearsOn.flatMap((id) => (view.causeTerms[id] === undefined ? [] : [view.causeTerms[id]]));
  return html`<li id="step-${check.id}"><span class="number" aria-hidden="true"><span class="print-only tick-box"></span>${p.number}</span>
<p>${check.instruction}${check.separating && html` <span class="tag">tells causes apart</span>`}</p>
${check.tool !== undefined && html`<p class="detail"><b>Tool:</b> ${check.tool}</p>`}
${check.accept !== undefined && html`<p class="detail">${check.accept}</p>`}
${bears.length > 0 && html`<p class="detail screen-only"><b>Bears on:</b> ${bears.join('; ')}</p>`}
${check.cautions.length > 0 && html`<ul class="care">${check.cautions.map((caution) => html`<li>${caution}</li>`)}</ul>`}
${values.map(({ value, unit, state }) => html`<p class="done-values">Measured: ${formatNumber(value)} ${unit}${state === undefined ? '' : ` (${state})`}</p>`)}
${check.measure !== undefined && html`<p class="print-only">${check.measure.quantity}: <span class="write-line"></span> ${check.measure.unit} at: <span class="write-line"></span></p>`}
${p.working && check.measure !== undefined && measureForm(view, { id: check.id, ...check.measure })}</li>`;
}

/** Lines to write on, for the sheet that goes to the engine. */
function paperClose(): Html {
  return html`<div class="print-only"><h2>Found and done</h2><p><span class="write-line long"></span><span class="write-line long"></span><span class="write-line long"></span></p>
<div class="sign"><p>Date, engine hours: <span class="write-line"></span></p><p>Name, signature: <span class="write-line"></span></p></div></div>`;
}

function historyPart(frame: PageFrame, task: Task): Html {
  return html`<section aria-labelledby="history-head"><h2 id="history-head">History</h2><ol class="history">${task.history.map(
    ({ atMs, who, what, why }) =>
      html`<li><strong>${what}</strong><br><span class="quiet"><time datetime="${formatMachineTime(atMs)}">${formatShortTime(atMs, frame.zone)}</time>, ${who}${why === '' ? '' : `. ${capital(why)}`}</span></li>`,
  )}</ol></section>`;
}
