import { describe, expect, test } from 'vitest';
import { EXAMPLE_FLEET, exampleFinding, exampleUnit, HOUR_MS, START_MS } from '../example-for-tests.ts';
import { applyFinding } from './apply-finding.ts';
import { type Book, decodeBook, encodeBook, initialBook } from './book.ts';
import { type Close, decide } from './decide.ts';
import { unitOfTask } from './task-id.ts';

// The life cycle is this project's own rule. "An upset on one unit never raises more than one alert", "identical
// findings merge" and "next steady hours show the residual gone, else reopen" are common practice, no source.

const unit = exampleUnit('truck-07');
const apply = (book: Book, ...findings: Parameters<typeof exampleFinding>[0][]) =>
  findings.reduce<Book>((before, change) => applyFinding(before, exampleFinding(change), unit), book);
const only = (book: Book) => {
  expect(book.tasks).toHaveLength(1);
  const task = book.tasks[0];
  if (task === undefined) throw new Error('one task');
  return task;
};
const first = exampleFinding();
const CLOSED_MS = START_MS + 100 * HOUR_MS;
const closing = (task: string, change: Partial<Close> = {}): Close => ({
  type: 'close',
  task,
  who: 'A. Fitter',
  atMs: CLOSED_MS,
  found: 'boost_leak_after_cooler',
  work: ['leak_sealed'],
  note: 'clamp at the cooler outlet was loose',
  ...change,
});
const closed = (book: Book, change: Partial<Close> = {}): Book => {
  const decided = decide(book, closing(only(book).id, change));
  if (!decided.ok) throw new Error(decided.reject.detail);
  return decided.value.book;
};

describe('opening', () => {
  test('a finding opens one task with its steps, cautions and due time', () => {
    const task = only(apply(initialBook(), {}));
    expect(task).toMatchObject({
      unit: 'truck-07',
      state: 'open',
      severity: 'medium',
      reports: 1,
      title: 'boost shortfall',
    });
    expect(task.dueByMs).toBe(first.updatedAtMs + 7 * 24 * HOUR_MS);
    expect(task.checks.length).toBeGreaterThan(5);
    expect(task.cautions.length).toBeGreaterThan(5);
    expect(task.history).toHaveLength(1);
    expect(unitOfTask(task.id)).toBe('truck-07');
  });

  test('the same version of a finding twice changes nothing, and a replay gives the same book', () => {
    const once = apply(initialBook(), {});
    expect(apply(once, {})).toBe(once);
    expect(apply(initialBook(), {})).toEqual(once);
  });

  test('an older version that arrives late changes nothing', () => {
    const book = apply(initialBook(), { updatedAtMs: first.atMs + 5 * HOUR_MS, severity: 'high' });
    expect(apply(book, {})).toBe(book);
  });

  test('a finding that is first heard of as cleared opens no task', () => {
    expect(apply(initialBook(), { state: 'cleared' }).tasks).toEqual([]);
  });

  test('the book survives being stored', () => {
    const book = apply(initialBook(), {});
    expect(decodeBook(encodeBook(book))).toEqual(book);
  });
});

describe('merging', () => {
  test('later versions merge and are counted; severity grows and does not shrink', () => {
    const task = only(
      apply(
        initialBook(),
        {},
        { updatedAtMs: first.atMs + HOUR_MS, severity: 'high' },
        { updatedAtMs: first.atMs + 2 * HOUR_MS, severity: 'low' },
      ),
    );
    expect(task.reports).toBe(3);
    expect(task.severity).toBe('high');
    expect(task.dueByMs).toBe(first.atMs + HOUR_MS + 24 * HOUR_MS);
    expect(task.history.map(({ what }) => what)).toEqual([
      'opened: boost shortfall',
      'severity medium → high',
      'due earlier',
    ]);
  });

  test('another finding of the same upset joins the task', () => {
    const task = only(
      apply(
        initialBook(),
        {},
        { kind: 'exhaust_temperature_high', subject: 'exhaustTemperature', sinceMs: START_MS + HOUR_MS },
      ),
    );
    expect(task.findings).toHaveLength(2);
    expect(task.title).toContain('exhaust temperature high');
    expect(task.checks.some(({ id }) => id === 'sensor_exhaust_standstill')).toBe(true);
  });

  test('a finding of another kind after the first has cleared opens its own task; one of its kind joins', () => {
    const clearedAt = first.atMs + 10 * HOUR_MS;
    const book = apply(
      initialBook(),
      {},
      { state: 'cleared', updatedAtMs: clearedAt },
      { kind: 'low_oil_pressure', sinceMs: clearedAt + HOUR_MS },
    );
    expect(book.tasks).toHaveLength(2);
    const again = apply(
      initialBook(),
      {},
      { state: 'cleared', updatedAtMs: clearedAt },
      { sinceMs: clearedAt + HOUR_MS },
    );
    expect(only(again)).toMatchObject({ reports: 3, title: 'boost shortfall' });
  });

  test('a unit that is taken to pieces gets a new task instead of more in the old one', () => {
    const book = apply(initialBook(), { causes: [{ cause: 'bearing_wear_or_rub', probability: 0.9 }] });
    const measured = decide(book, {
      type: 'measure',
      task: only(book).id,
      who: 'F',
      atMs: START_MS,
      check: 'shaft_play',
      value: 0.09,
    });
    if (!measured.ok) throw new Error(measured.reject.detail);
    expect(apply(measured.value.book, { kind: 'low_oil_pressure' }).tasks).toHaveLength(2);
  });
});

describe('due time', () => {
  const limit = { value: 6.2, unit: 'kPa', source: 'engine manual', exceeded: false };
  test('comes forward to the lower end of the time to the limit', () => {
    const task = only(
      apply(initialBook(), {
        limit: { ...limit, hoursToLimit: { estimate: 60, lower: 40, upper: 90, confidence: 0.9 } },
      }),
    );
    expect(task.dueByMs).toBe(first.atMs + 40 * HOUR_MS);
    expect(task.dueReason).toContain('90 % interval');
  });
  test('counts days of usual work where they are known: a ferry idles at night', () => {
    const left = { estimate: 60, lower: 40, upper: 90, confidence: 0.9 };
    const days = { estimate: 7.5, lower: 5, upper: 11.3, confidence: 0.9 };
    const task = only(apply(initialBook(), { limit: { ...limit, hoursToLimit: left, daysToLimit: days } }));
    expect(task.dueByMs).toBe(first.atMs + 5 * 24 * HOUR_MS);
    expect(task.dueReason).toContain('days of usual work');
  });
  test('a limit that is passed is due as high', () => {
    const task = only(apply(initialBook(), { severity: 'low', limit: { ...limit, exceeded: true } }));
    expect(task.dueByMs).toBe(first.atMs + 24 * HOUR_MS);
  });
});

describe('after closing', () => {
  const repaired = closed(apply(initialBook(), {}));

  test('cleared by data from after the work verifies the repair', () => {
    expect(only(apply(repaired, { state: 'cleared', updatedAtMs: CLOSED_MS + HOUR_MS })).state).toBe('verified');
  });

  test('cleared by data from before the work verifies nothing', () => {
    expect(only(apply(repaired, { state: 'cleared', updatedAtMs: CLOSED_MS - HOUR_MS })).state).toBe('closed');
  });

  test('a report about data from before the work does not reopen', () => {
    const task = only(apply(repaired, { updatedAtMs: CLOSED_MS - HOUR_MS }));
    expect(task).toMatchObject({ state: 'closed', reports: 2 });
  });

  test('the same kind in data from after the work reopens, and keeps the verdict', () => {
    const task = only(apply(repaired, { sinceMs: CLOSED_MS + HOUR_MS, severity: 'high' }));
    expect(task.state).toBe('reopened');
    expect(task.verdict).toBeUndefined();
    expect(task.earlierVerdicts).toHaveLength(1);
    expect(task.takenBy).toBeUndefined();
    expect(task.dueByMs).toBe(CLOSED_MS + 7 * HOUR_MS + 24 * HOUR_MS);
  });

  test('another kind opens its own task', () => {
    expect(apply(repaired, { kind: 'low_oil_pressure', sinceMs: CLOSED_MS + HOUR_MS }).tasks).toHaveLength(2);
  });

  test('after nothing was found, the finding reopens only when it grows worse', () => {
    const fruitless = closed(apply(initialBook(), {}), { found: 'none_found', work: ['nothing_done'] });
    const same = apply(fruitless, { updatedAtMs: CLOSED_MS + HOUR_MS });
    expect(only(same).state).toBe('closed');
    expect(only(apply(same, { updatedAtMs: CLOSED_MS + 2 * HOUR_MS, severity: 'high' })).state).toBe('reopened');
  });

  test('history is only ever added to', () => {
    const before = only(repaired).history;
    const after = only(apply(repaired, { sinceMs: CLOSED_MS + HOUR_MS })).history;
    expect(after.slice(0, before.length)).toEqual(before);
    expect(after.length).toBeGreaterThan(before.length);
  });
});

test('every unit of a fleet can carry every cause', () => {
  for (const each of EXAMPLE_FLEET.units) {
    const book = applyFinding(initialBook(), exampleFinding({ unit: each.id }), each);
    expect(book.tasks[0]?.checks.length).toBeGreaterThan(3);
  }
});
