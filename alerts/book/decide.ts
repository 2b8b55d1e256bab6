import { assert } from '../../schemas/assert.ts';
import { accept, type Checked, refuse } from '../../schemas/reject.ts';
import { isSignalKey } from '../../schemas/signals.ts';
import type { Task } from '../../schemas/task.ts';
import { MAINTENANCE_WORK, type MaintenanceWork, type Verdict, verdictSchema } from '../../schemas/verdict.ts';
import type { Emit } from '../../storage/log/port.ts';
import { causeFacts, isCause } from '../checklists/causes.ts';
import { ENTERED_TEXT_MAX } from '../limits.ts';
import { type Book, isActive, withEvent, withTask } from './book.ts';
import { FAILURE_MECHANISMS, FAILURE_MODES } from './failure-codes.ts';

type By = { readonly task: string; readonly who: string; readonly atMs: number };

/** Somebody takes a task on. `from` is who had it when they looked, empty for nobody: a later change is not run over. */
export type Take = By & { readonly type: 'take'; readonly from: string };

/** A value measured at one of the task's steps, in that step's unit; `state` is what the engine did meanwhile. */
export type Measure = By & {
  readonly type: 'measure';
  readonly check: string;
  readonly value: number;
  readonly state?: string;
};

/** What was found and done. */
export type Close = By & {
  readonly type: 'close';
  /** Id of a cause, or `none_found`. */
  readonly found: string;
  readonly work: readonly MaintenanceWork[];
  /** Signal keys, for work on a sensor. */
  readonly signals?: readonly string[];
  readonly note: string;
  readonly failureMode?: string;
  readonly failureMechanism?: string;
};

/** What a person does to a task. */
export type Action = Take | Measure | Close;

/** The book after an action, and what it writes to the log. */
export type Decided = { readonly book: Book; readonly task: Task; readonly emit: readonly Emit[] };

/**
 * The book after a person's action, or why it cannot be.
 *
 * @param book - Of the task's unit.
 * @param action - With the name of who does it and the time by the caller's clock, ms since 1970 UTC.
 * @returns Refused with field `task` when the book has no such task, `state` when the task's state forbids it, else with
 *   the name of the field that is wrong. Closing emits one verdict.
 */
export function decide(book: Book, action: Action): Checked<Decided> {
  const task = book.tasks.find(({ id }) => id === action.task);
  if (task === undefined)
    return refuse('value_out_of_range', 'task', `There is no task "${action.task}"; open one from the list.`);
  const who = action.who.trim();
  if (who === '') return refuse('field_missing', 'who', 'Give the name of who does this.');
  const long = Object.entries(action).find(([, value]) => typeof value === 'string' && value.length > ENTERED_TEXT_MAX);
  if (long !== undefined)
    return refuse('value_out_of_range', long[0], `Shorten this to ${ENTERED_TEXT_MAX} characters.`);
  switch (action.type) {
    case 'take':
      return take(book, task, { ...action, who });
    case 'measure':
      return measure(book, task, { ...action, who });
    case 'close':
      return close(book, task, { ...action, who });
    default:
      action satisfies never;
      assert(false, 'every kind of action is decided on');
  }
}

function settled(task: Task): { readonly ok: false } & ReturnType<typeof refuse> {
  return refuse(
    'value_out_of_range',
    'state',
    `This task is ${task.state}; it takes no more work unless it is reopened.`,
  );
}

function take(book: Book, task: Task, action: Take): Checked<Decided> {
  if (!isActive(task)) return settled(task);
  if ((task.takenBy ?? '') !== action.from) {
    return refuse(
      'value_out_of_range',
      'state',
      `${task.takenBy ?? 'Nobody'} has this task by now; look again before you take it over.`,
    );
  }
  if (task.takenBy === action.who) return accept({ book, task, emit: [] });
  const next = withEvent(
    { ...task, state: 'taken', takenBy: action.who },
    {
      atMs: action.atMs,
      who: action.who,
      what: task.takenBy === undefined ? 'taken' : `taken over from ${task.takenBy}`,
      why: 'for inspection',
    },
  );
  return accept({ book: withTask(book, next), task: next, emit: [] });
}

function measure(book: Book, task: Task, action: Measure): Checked<Decided> {
  if (!isActive(task)) return settled(task);
  const check = task.checks.find(({ id }) => id === action.check);
  if (check?.measure === undefined) {
    return refuse('value_out_of_range', 'check', `This task has no step "${action.check}" that asks for a value.`);
  }
  if (!Number.isFinite(action.value))
    return refuse('number_unreadable', 'value', 'Give the value as a number, such as 4.2.');
  const state = action.state?.trim() ?? '';
  const { quantity, unit } = check.measure;
  const next = withEvent(
    {
      ...task,
      measurements: [
        ...task.measurements,
        { check: check.id, value: action.value, unit, ...(state === '' ? {} : { state }) },
      ],
    },
    {
      atMs: action.atMs,
      who: action.who,
      what: `measured: ${quantity}: ${action.value} ${unit}${state === '' ? '' : ` (${state})`}`,
      why: check.instruction,
    },
  );
  return accept({ book: withTask(book, next), task: next, emit: [] });
}

function close(book: Book, task: Task, action: Close): Checked<Decided> {
  if (!isActive(task)) return settled(task);
  const wrong = wrongInClosing(action);
  if (wrong !== undefined) return wrong;
  const verdict: Verdict = {
    version: 1,
    task: task.id,
    unit: task.unit,
    atMs: action.atMs,
    who: action.who,
    found: action.found,
    ...(action.failureMode === undefined ? {} : { failureMode: action.failureMode }),
    ...(action.failureMechanism === undefined ? {} : { failureMechanism: action.failureMechanism }),
    work: [...action.work],
    ...(action.signals === undefined || action.signals.length === 0 ? {} : { signals: [...action.signals] }),
    measurements: task.measurements,
    note: action.note.trim(),
  };
  assert(verdictSchema.safeParse(verdict).success, 'a verdict that leaves the book follows its schema');
  const found = action.found === 'none_found' ? 'nothing found' : causeFacts(action.found).term;
  const next = withEvent(
    { ...task, state: 'closed', verdict },
    {
      atMs: action.atMs,
      who: action.who,
      what: `closed: ${found}`,
      why: [action.work.map((work) => MAINTENANCE_WORK[work]).join('; '), verdict.note]
        .filter((text) => text !== '')
        .join('. '),
    },
  );
  return accept({
    book: withTask(book, next),
    task: next,
    emit: [{ topic: 'verdicts', key: task.unit, value: verdict }],
  });
}

function wrongInClosing(action: Close): ReturnType<typeof refuse> | undefined {
  if (action.found === '') return refuse('field_missing', 'found', 'Say what was found, or that nothing was.');
  if (action.found !== 'none_found' && !isCause(action.found)) {
    return refuse(
      'value_out_of_range',
      'found',
      `"${action.found}" is not among the causes; choose one, or "something else" with a note.`,
    );
  }
  if (action.work.length === 0)
    return refuse('field_missing', 'work', 'Say what was done, or that nothing was replaced or repaired.');
  if (action.work.includes('nothing_done') && action.work.length > 1) {
    return refuse('value_out_of_range', 'work', 'Either something was done or nothing was; take one of the two off.');
  }
  const signals = action.signals ?? [];
  if (action.work.includes('sensor_replaced') && signals.length === 0) {
    return refuse(
      'field_missing',
      'signals',
      'Say which sensor was worked on, so that its expectation is learnt anew.',
    );
  }
  const strange = signals.find((signal) => !isSignalKey(signal));
  if (strange !== undefined)
    return refuse('signal_unknown', 'signals', `"${strange}" is not a known signal; choose from the list.`);
  if ((action.found === 'none_found' || action.found === 'unknown') && action.note.trim() === '') {
    return refuse('field_missing', 'note', 'Say in a few words what was looked at and seen.');
  }
  if (action.failureMode !== undefined && !Object.hasOwn(FAILURE_MODES, action.failureMode)) {
    return refuse(
      'value_out_of_range',
      'failureMode',
      `"${action.failureMode}" is not a failure mode of the table (ISO 14224).`,
    );
  }
  if (action.failureMechanism !== undefined && !Object.hasOwn(FAILURE_MECHANISMS, action.failureMechanism)) {
    return refuse(
      'value_out_of_range',
      'failureMechanism',
      `"${action.failureMechanism}" is not a mechanism of the table (ISO 14224).`,
    );
  }
  return undefined;
}
