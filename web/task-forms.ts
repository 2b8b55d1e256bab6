import type { Task } from '../schemas/task.ts';
import { MAINTENANCE_WORK } from '../schemas/verdict.ts';
import { type Html, html } from './html.ts';

/** What the closing form offers. */
export type CloseChoices = {
  /** Causes of the task first, most probable on top, then all others. */
  readonly likely: readonly { readonly id: string; readonly term: string }[];
  readonly others: readonly { readonly id: string; readonly term: string }[];
  readonly signals: readonly { readonly id: string; readonly term: string }[];
  readonly failureModes: Readonly<Record<string, string>>;
  readonly failureMechanisms: Readonly<Record<string, string>>;
};

/** Why what was sent was not recorded, where on the page it belongs, and what had been entered. */
export type FormProblem = {
  readonly form: 'take' | 'measure' | 'close';
  readonly field: string;
  readonly detail: string;
  readonly anchor: string;
  readonly entered: Readonly<Record<string, readonly string[]>>;
};

type FormView = {
  readonly task: Task;
  readonly who: string;
  readonly choices: CloseChoices;
  readonly problem?: FormProblem;
};

/** Id of a form's field on the page; a measuring form has the id of its step in it. */
export function fieldId(p: { form: FormProblem['form']; field: string; check?: string }): string {
  return [p.form, p.check, p.field].filter((part) => part !== undefined && part !== '').join('-');
}

function field(p: { id: string; label: string; control: Html; hint?: string; why?: string | undefined }): Html {
  return html`<div class="field${p.why === undefined ? '' : ' wrong-field'}"><label for="${p.id}">${p.label}</label>${p.hint !== undefined && html`<span class="hint" id="${p.id}-hint">${p.hint}</span>`}${p.why !== undefined && html`<span class="why" id="${p.id}-why">${p.why}</span>`}${p.control}</div>`;
}

function whyOf(problem: FormProblem | undefined, form: FormProblem['form'], name: string): string | undefined {
  return problem?.form === form && problem.field === name ? problem.detail : undefined;
}

function described(p: { id: string; hint?: boolean; why: string | undefined }): Html {
  const ids = [...(p.hint === true ? [`${p.id}-hint`] : []), ...(p.why === undefined ? [] : [`${p.id}-why`])];
  return html`${ids.length > 0 && html` aria-describedby="${ids.join(' ')}"`}${p.why !== undefined && html` aria-invalid="true"`}`;
}

function whoField(view: FormView, form: FormProblem['form'], check?: string): Html {
  const id = fieldId({ form, field: 'who', ...(check === undefined ? {} : { check }) });
  const mine = view.problem?.form === form && (check === undefined || view.problem.entered['check']?.[0] === check);
  const why = mine ? whyOf(view.problem, form, 'who') : undefined;
  const value = (mine ? view.problem?.entered['who']?.[0] : undefined) ?? view.who;
  return field({
    id,
    label: 'Your name',
    why,
    control: html`<input type="text" id="${id}" name="who" value="${value}" required maxlength="200" autocomplete="name"${described({ id, why })}>`,
  });
}

/** Form with which somebody takes the task on. */
export function takeForm(view: FormView): Html {
  const { task } = view;
  return html`<form class="stack" id="take" method="post" action="/tasks/${task.id}/take"><input type="hidden" name="from" value="${task.takenBy ?? ''}">
${whoField(view, 'take')}
<div><button>${task.takenBy === undefined ? 'Take this task' : `Take over from ${task.takenBy}`}</button></div></form>`;
}

/** Form for the value that one step asks for; opens by itself when what was sent could not be read. */
export function measureForm(view: FormView, step: { id: string; quantity: string; unit: string }): Html {
  const wrong =
    view.problem?.form === 'measure' && view.problem.entered['check']?.[0] === step.id ? view.problem : undefined;
  const valueId = fieldId({ form: 'measure', check: step.id, field: 'value' });
  const stateId = fieldId({ form: 'measure', check: step.id, field: 'state' });
  const why = whyOf(wrong, 'measure', 'value');
  return html`<details class="screen-only"${wrong !== undefined && html` open`}><summary>Enter ${step.quantity}</summary>
<form class="inline-form" method="post" action="/tasks/${view.task.id}/measure"><input type="hidden" name="check" value="${step.id}">
${field({
  id: valueId,
  label: `Value, ${step.unit}`,
  why,
  control: html`<input type="text" inputmode="decimal" id="${valueId}" name="value" value="${wrong?.entered['value']?.[0] ?? ''}" required${described({ id: valueId, why })}>`,
})}
${field({
  id: stateId,
  label: 'Engine state',
  control: html`<input type="text" id="${stateId}" name="state" value="${wrong?.entered['state']?.[0] ?? ''}" placeholder="rated, hot">`,
})}
${whoField(view, 'measure', step.id)}
<div><button>Record</button></div></form></details>`;
}

function options(list: readonly { id: string; term: string }[], chosen: string): Html[] {
  return list.map(({ id, term }) => html`<option value="${id}"${id === chosen && html` selected`}>${term}</option>`);
}

function codeOptions(table: Readonly<Record<string, string>>, chosen: string): Html {
  return html`<option value="">not given</option>${Object.entries(table).map(([code, words]) => html`<option value="${code}"${code === chosen && html` selected`}>${code} ${words}</option>`)}`;
}

/** Form with which the task is closed: what was found, what was done. */
export function closeForm(view: FormView): Html {
  const wrong = view.problem?.form === 'close' ? view.problem : undefined;
  const entered = (name: string) => wrong?.entered[name]?.[0] ?? '';
  const why = (name: string) => whyOf(wrong, 'close', name);
  const work = wrong?.entered['work'] ?? [];
  const select = (name: string, label: string, inner: Html, hint?: string) => {
    const id = fieldId({ form: 'close', field: name });
    return field({
      id,
      label,
      why: why(name),
      ...(hint === undefined ? {} : { hint }),
      control: html`<select id="${id}" name="${name}"${name === 'found' && html` required`}${described({ id, hint: hint !== undefined, why: why(name) })}>${inner}</select>`,
    });
  };
  const { choices, task } = view;
  return html`<form class="stack" id="close" method="post" action="/tasks/${task.id}/close">
${select(
  'found',
  'Found',
  html`<option value="">Choose what was found</option><optgroup label="Likely causes">${options(choices.likely, entered('found'))}</optgroup><optgroup label="Neither of these"><option value="none_found"${entered('found') === 'none_found' && html` selected`}>Nothing found</option><option value="unknown"${entered('found') === 'unknown' && html` selected`}>Something else, see note</option></optgroup><optgroup label="Other causes">${options(choices.others, entered('found'))}</optgroup>`,
)}
<fieldset id="close-work"${why('work') !== undefined && html` class="wrong-field"`}><legend>Done</legend>${why('work') !== undefined && html`<p class="why">${why('work')}</p>`}
<div class="ticks">${Object.entries(MAINTENANCE_WORK).map(([key, words]) => html`<label><input type="checkbox" name="work" value="${key}"${work.includes(key) && html` checked`}>${words}</label>`)}</div></fieldset>
${select('signals', 'Sensor worked on', html`<option value="">none</option>${options(choices.signals, entered('signals'))}`, 'Only for work on a sensor: its expectation is learnt anew.')}
${field({
  id: 'close-note',
  label: 'Note',
  hint: 'What was seen, where; parts and engine hours.',
  why: why('note'),
  control: html`<textarea id="close-note" name="note" maxlength="2000"${described({ id: 'close-note', hint: true, why: why('note') })}>${entered('note')}</textarea>`,
})}
<details${(entered('failureMode') !== '' || entered('failureMechanism') !== '') && html` open`}><summary>Codes of ISO 14224</summary><div class="stack">
${select('failureMode', 'Failure mode', codeOptions(choices.failureModes, entered('failureMode')))}
${select('failureMechanism', 'Failure mechanism', codeOptions(choices.failureMechanisms, entered('failureMechanism')))}</div></details>
${whoField(view, 'close')}
<div><button>Close this task</button></div></form>`;
}
