import { z } from 'zod';
import { assert } from '../../schemas/assert.ts';
import type { Severity } from '../../schemas/finding.ts';
import { SEVERITIES } from '../../schemas/finding.ts';
import { CHECK_STAGES, type Task, type TaskEvent, taskSchema } from '../../schemas/task.ts';
import type { Json } from '../../storage/log/port.ts';

const bookSchema = z.strictObject({ version: z.literal(1), tasks: z.array(taskSchema) });

/** The task book of one unit: every task it ever had, oldest first. Plain JSON; nothing is removed from it. */
export type Book = { readonly version: 1; readonly tasks: readonly Task[] };

/** The book of a unit that has had no finding yet. */
export function initialBook(): Book {
  return { version: 1, tasks: [] };
}

/** The book as the log stores it. */
export function encodeBook(book: Book): Json {
  return JSON.parse(JSON.stringify(book)) as Json;
}

/**
 * The book that {@link encodeBook} stored.
 *
 * @throws AssertionError when it is of another version or damaged: it must not be worked on by this program.
 */
export function decodeBook(stored: Json): Book {
  const parsed = bookSchema.safeParse(stored);
  assert(
    parsed.success,
    `a stored task book is of version 1 and whole${parsed.success ? '' : `: ${z.prettifyError(parsed.error)}`}`,
  );
  return parsed.data;
}

/** Whether work on the task is still to be done. */
export function isActive(task: Task): boolean {
  return task.state === 'open' || task.state === 'taken' || task.state === 'reopened';
}

/** Whether somebody has begun to take things apart: a value of a step of the last stage is entered. */
export function isDismantled(task: Task): boolean {
  const last = CHECK_STAGES.at(-1);
  const opening = task.checks.filter(({ stage }) => stage === last).map(({ id }) => id);
  return task.measurements.some(({ check }) => opening.includes(check));
}

/** The worse of two severities. */
export function worse(a: Severity, b: Severity): Severity {
  return SEVERITIES.indexOf(a) >= SEVERITIES.indexOf(b) ? a : b;
}

/** The task with one more line in its history. */
export function withEvent(task: Task, event: TaskEvent): Task {
  return { ...task, updatedAtMs: Math.max(task.updatedAtMs, event.atMs), history: [...task.history, event] };
}

/** The book with one task replaced by its next version, or added when it is new. */
export function withTask(book: Book, task: Task): Book {
  const known = book.tasks.some(({ id }) => id === task.id);
  return { ...book, tasks: known ? book.tasks.map((old) => (old.id === task.id ? task : old)) : [...book.tasks, task] };
}
