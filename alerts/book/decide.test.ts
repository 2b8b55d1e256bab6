import { describe, expect, test } from 'vitest';
import { exampleFinding, exampleUnit, START_MS } from '../example-for-tests.ts';
import { applyFinding } from './apply-finding.ts';
import { initialBook } from './book.ts';
import { type Action, type Close, decide } from './decide.ts';
import { FAILURE_MECHANISMS, FAILURE_MODES } from './failure-codes.ts';

const book = applyFinding(initialBook(), exampleFinding(), exampleUnit('truck-07'));
const task = book.tasks[0]?.id ?? '';
const by = { task, who: 'A. Fitter', atMs: START_MS };
const close: Close = { ...by, type: 'close', found: 'boost_leak_after_cooler', work: ['leak_sealed'], note: '' };
const done = (actions: readonly Action[]) =>
  actions.reduce(
    (before, action) => {
      const decided = decide(before.book, action);
      if (!decided.ok) throw new Error(decided.reject.detail);
      return decided.value;
    },
    { book, emit: [] as readonly unknown[], task: book.tasks[0] },
  );
const refusedField = (action: Action, before = book) => {
  const decided = decide(before, action);
  return decided.ok ? undefined : decided.reject.field;
};

describe('taking', () => {
  test('names who took it', () => {
    expect(done([{ ...by, type: 'take', from: '' }]).task).toMatchObject({ state: 'taken', takenBy: 'A. Fitter' });
  });
  test('is refused when somebody else took it in between', () => {
    const taken = done([{ ...by, type: 'take', from: '' }]).book;
    expect(refusedField({ ...by, who: 'B. Fitter', type: 'take', from: '' }, taken)).toBe('state');
    expect(refusedField({ ...by, who: 'B. Fitter', type: 'take', from: 'A. Fitter' }, taken)).toBeUndefined();
  });
  test('needs a name and a task that exists', () => {
    expect(refusedField({ ...by, who: ' ', type: 'take', from: '' })).toBe('who');
    expect(refusedField({ ...by, task: 'truck-07.0000000', type: 'take', from: '' })).toBe('task');
  });
});

describe('measuring', () => {
  test('adds a value in the unit of the step, and never overwrites one', () => {
    const measure = { ...by, type: 'measure', check: 'filter_drop', state: '1900 rpm, full load' } as const;
    const after = done([
      { ...measure, value: 5.1 },
      { ...measure, value: 5.3 },
    ]).task;
    expect(after?.measurements.map(({ value, unit }) => `${value} ${unit}`)).toEqual(['5.1 kPa', '5.3 kPa']);
    expect(after?.history.at(-1)?.what).toContain(': 5.3 kPa (1900 rpm, full load)');
  });
  test('refuses a step without a value, and no number', () => {
    expect(refusedField({ ...by, type: 'measure', check: 'read_codes', value: 1 })).toBe('check');
    expect(refusedField({ ...by, type: 'measure', check: 'filter_drop', value: Number.NaN })).toBe('value');
  });
});

describe('closing', () => {
  test('emits one verdict with the measured values', () => {
    const after = done([
      { ...by, type: 'measure', check: 'boost_hold', value: 60 },
      { ...close, failureMode: 'LOO', failureMechanism: '1.1' },
    ]);
    expect(after.emit).toHaveLength(1);
    expect(after.emit[0]).toMatchObject({
      topic: 'verdicts',
      key: 'truck-07',
      value: {
        task,
        found: 'boost_leak_after_cooler',
        failureMode: 'LOO',
        measurements: [{ check: 'boost_hold', value: 60, unit: 'kPa' }],
      },
    });
    expect(after.task?.state).toBe('closed');
  });
  test.each<[string, Partial<Close>]>([
    ['found', { found: '' }],
    ['found', { found: 'gremlins' }],
    ['work', { work: [] }],
    ['work', { work: ['nothing_done', 'leak_sealed'] }],
    ['signals', { work: ['sensor_replaced'] }],
    ['signals', { work: ['sensor_replaced'], signals: ['nose'] }],
    ['note', { found: 'none_found', work: ['nothing_done'] }],
    ['failureMode', { failureMode: 'XYZ' }],
    ['failureMechanism', { failureMechanism: '9.9' }],
  ])('names the field that is wrong: %s', (field, change) => {
    expect(refusedField({ ...close, ...change })).toBe(field);
  });
  test('is refused on a closed task', () => {
    const closed = done([close]).book;
    expect(refusedField(close, closed)).toBe('state');
    expect(refusedField({ ...by, type: 'take', from: '' }, closed)).toBe('state');
  });
});

test('mechanism numbers 1.1 leakage, 1.6 sticking, 2.3 erosion, 2.4 wear and 3.1 control are those of ISO 14224:2016 table B.2', () => {
  // Seen quoted from table B.2 of ISO 14224:2016.
  expect(FAILURE_MECHANISMS).toMatchObject({ '1.1': 'leakage', '1.6': 'sticking', '2.3': 'erosion', '2.4': 'wear' });
  expect(FAILURE_MECHANISMS['3.1']).toContain('control');
  // Modes from memory of ISO 14224:2016 annex B.
  for (const mode of ['AIR', 'ELU', 'ERO', 'HIO', 'IHT', 'INL', 'LBP', 'LOO', 'PDE', 'PLU', 'STD', 'VIB']) {
    expect(FAILURE_MODES).toHaveProperty(mode);
  }
});
