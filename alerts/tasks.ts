import { accept, type Checked, refuse } from '../schemas/reject.ts';
import type { Task, TaskState } from '../schemas/task.ts';
import type { LogPort } from '../storage/log/port.ts';
import { PortError } from '../storage/port-error.ts';
import { decodeBook, encodeBook, initialBook } from './book/book.ts';
import { type Action, type Close, decide, type Measure, type Take } from './book/decide.ts';
import { unitOfTask } from './book/task-id.ts';
import { COMMIT_ATTEMPTS_MAX } from './limits.ts';

/** Consumer group of the task book: its states are the books, keyed by unit. */
export const ALERTS_GROUP = 'alerts';

/** Which tasks to list; everything that is left out lets all through. */
export type TaskFilter = { readonly units?: readonly string[]; readonly states?: readonly TaskState[] };

/** Tasks of the fleet, most urgent first: by due time, then worst, then id. */
export async function listTasks(p: { log: LogPort; filter?: TaskFilter }): Promise<Task[]> {
  const tasks: Task[] = [];
  for await (const { key, state } of p.log.allStates({ group: ALERTS_GROUP })) {
    if (p.filter?.units !== undefined && !p.filter.units.includes(key)) continue;
    tasks.push(...decodeBook(state.value).tasks.filter((task) => p.filter?.states?.includes(task.state) ?? true));
  }
  return tasks.sort((a, b) => a.dueByMs - b.dueByMs || (a.id < b.id ? -1 : 1));
}

/** One task, or `undefined` when there is none with this id. */
export async function getTask(p: { log: LogPort; id: string }): Promise<Task | undefined> {
  const unit = unitOfTask(p.id);
  if (unit === undefined) return undefined;
  const stored = (await p.log.states({ group: ALERTS_GROUP, keys: [unit] })).get(unit);
  return stored === undefined ? undefined : decodeBook(stored.value).tasks.find(({ id }) => id === p.id);
}

/** Takes a task on; see {@link Take}. @returns The task as it now stands, or why it could not be. */
export function takeTask(p: { log: LogPort } & Omit<Take, 'type'>): Promise<Checked<Task>> {
  const { log, ...action } = p;
  return act({ log, action: { type: 'take', ...action } });
}

/** Records a measured value; see {@link Measure}. @returns The task as it now stands, or why it could not be. */
export function recordMeasurement(p: { log: LogPort } & Omit<Measure, 'type'>): Promise<Checked<Task>> {
  const { log, ...action } = p;
  return act({ log, action: { type: 'measure', ...action } });
}

/** Closes a task and emits its verdict in the same step; see {@link Close}. @returns The closed task, or why not. */
export function closeTask(p: { log: LogPort } & Omit<Close, 'type'>): Promise<Checked<Task>> {
  const { log, ...action } = p;
  return act({ log, action: { type: 'close', ...action } });
}

/**
 * Loads the book, decides, and commits on condition that nobody changed the book in between; tried again when somebody
 * did, at most {@link COMMIT_ATTEMPTS_MAX} times.
 *
 * @throws PortError when the log fails, or when the book kept changing.
 */
async function act(p: { log: LogPort; action: Action }): Promise<Checked<Task>> {
  const unit = unitOfTask(p.action.task);
  if (unit === undefined)
    return refuse('value_out_of_range', 'task', `There is no task "${p.action.task}"; open one from the list.`);
  for (let attempt = 1; ; attempt += 1) {
    const stored = (await p.log.states({ group: ALERTS_GROUP, keys: [unit] })).get(unit);
    const decided = decide(stored === undefined ? initialBook() : decodeBook(stored.value), p.action);
    if (!decided.ok) return decided;
    try {
      await p.log.commit({
        group: ALERTS_GROUP,
        emit: decided.value.emit,
        state: [{ key: unit, value: encodeBook(decided.value.book) }],
        expect: [{ key: unit, version: stored?.version ?? 0 }],
      });
      return accept(decided.value.task);
    } catch (error) {
      if (!isStateChanged(error) || attempt >= COMMIT_ATTEMPTS_MAX) throw error;
    }
  }
}

/** Whether a commit was refused because somebody else changed a state in between. */
export function isStateChanged(error: unknown): boolean {
  return error instanceof PortError && error.code === 'state_changed';
}
