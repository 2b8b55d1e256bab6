import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { Verdict } from '../schemas/verdict.ts';
import type { LogPort, Step } from '../storage/log/port.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { PortError } from '../storage/port-error.ts';
import { EXAMPLE_FLEET, exampleFinding, HOUR_MS, START_MS } from './example-for-tests.ts';
import { COMMIT_ATTEMPTS_MAX } from './limits.ts';
import { closeTask, getTask, listTasks, recordMeasurement, takeTask } from './tasks.ts';
import { runAlertsOnce } from './worker.ts';

let log: LogPort;
beforeEach(() => {
  log = openSqliteLog({ path: ':memory:' });
});
afterEach(() => log.close());

const report = (...findings: ReturnType<typeof exampleFinding>[]) =>
  log.commit({
    group: 'analysis',
    emit: findings.map((value) => ({ topic: 'findings', key: value.unit, value })),
    state: [],
  });
const run = (from: LogPort = log) => runAlertsOnce({ log: from, fleet: EXAMPLE_FLEET, max: 50 });

async function verdicts(): Promise<Verdict[]> {
  const all: Verdict[] = [];
  for await (const record of log.scan({ topic: 'verdicts' })) all.push(record.value);
  return all;
}

/** The log, but its first commits fail as when somebody else changed the state in between. */
function contested(failures: number): LogPort & { readonly tried: () => number } {
  let tried = 0;
  return {
    ...log,
    tried: () => tried,
    async commit(step: Step) {
      tried += 1;
      if (tried <= failures)
        throw new PortError({ port: 'log', code: 'state_changed', message: 'changed', retryable: true });
      return log.commit(step);
    },
  };
}

describe('worker', () => {
  test('findings become tasks, once, however often it runs', async () => {
    await report(
      exampleFinding(),
      exampleFinding({ unit: 'truck-08' }),
      exampleFinding({ updatedAtMs: START_MS + 9 * HOUR_MS }),
    );
    expect(await run()).toEqual({ findings: 3, changed: 2, opened: 2, refused: 0 });
    expect(await run()).toEqual({ findings: 0, changed: 0, opened: 0, refused: 0 });
    expect((await listTasks({ log })).map(({ unit, reports }) => [unit, reports])).toEqual([
      ['truck-07', 2],
      ['truck-08', 1],
    ]);
  });

  test('a finding of a unit outside the fleet file goes to the dead letters, not into the void', async () => {
    await report(exampleFinding({ unit: 'ghost' }));
    expect(await run()).toMatchObject({ findings: 1, opened: 0, refused: 1 });
    const letters = [];
    for await (const record of log.scan({ topic: 'dead_letters' })) letters.push(record.value);
    expect(letters).toMatchObject([{ unit: 'ghost', field: 'unit', source: 'findings' }]);
  });

  test('reads the book again when somebody changed it in between, and gives up after a bound', async () => {
    await report(exampleFinding());
    const endless = contested(Number.POSITIVE_INFINITY);
    await expect(run(endless)).rejects.toMatchObject({ code: 'state_changed' });
    expect(endless.tried()).toBe(COMMIT_ATTEMPTS_MAX);
    expect(await run(contested(2))).toMatchObject({ opened: 1 });
  });
});

describe('tasks', () => {
  const idOf = async () => {
    await report(exampleFinding());
    await run();
    const [task] = await listTasks({ log });
    return task?.id ?? '';
  };
  const by = { who: 'A. Fitter', atMs: START_MS + 20 * HOUR_MS };

  test('take, measure and close survive in the log, and the verdict is emitted once', async () => {
    const task = await idOf();
    expect((await takeTask({ log, task, ...by, from: '' })).ok).toBe(true);
    expect((await recordMeasurement({ log, task, ...by, check: 'boost_hold', value: 48 })).ok).toBe(true);
    const close = { log, task, ...by, found: 'boost_leak_after_cooler', work: ['leak_sealed'] as const, note: '' };
    expect((await closeTask(close)).ok).toBe(true);
    expect(await closeTask(close)).toMatchObject({ ok: false, reject: { field: 'state' } });
    expect(await getTask({ log, id: task })).toMatchObject({ state: 'closed', takenBy: 'A. Fitter' });
    expect(await verdicts()).toMatchObject([{ task, measurements: [{ check: 'boost_hold', value: 48, unit: 'kPa' }] }]);
  });

  test('two people at once: both values are kept', async () => {
    const task = await idOf();
    await Promise.all([1, 2, 3].map((value) => recordMeasurement({ log, task, ...by, check: 'boost_hold', value })));
    expect((await getTask({ log, id: task }))?.measurements).toHaveLength(3);
  });

  test('a task nobody opened is refused', async () => {
    for (const task of ['truck-07.0000000', 'no such', '']) {
      expect(await takeTask({ log, task, ...by, from: '' })).toMatchObject({ ok: false, reject: { field: 'task' } });
      expect(await getTask({ log, id: task })).toBeUndefined();
    }
  });

  test('lists by unit and state, most urgent first', async () => {
    await idOf();
    await report(exampleFinding({ unit: 'truck-08', severity: 'high' }));
    await run();
    expect((await listTasks({ log })).map(({ unit }) => unit)).toEqual(['truck-08', 'truck-07']);
    expect(await listTasks({ log, filter: { units: ['truck-07'], states: ['taken'] } })).toEqual([]);
  });
});
