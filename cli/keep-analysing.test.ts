import { afterEach, beforeEach, describe, expect, test, vi } from 'vitest';
import { parse } from 'yaml';
import { fleetFileSchema } from '../schemas/fleet-file.ts';
import { openSqliteHistory } from '../storage/history/sqlite.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { PortError } from '../storage/port-error.ts';
import { EXAMPLE_FLEET } from './example-fleet.ts';
import { keepAnalysing } from './keep-analysing.ts';
import type { Stores } from './wiring.ts';

const fleet = fleetFileSchema.parse(parse(EXAMPLE_FLEET));

/** Stores in memory whose log fails the first polls with the errors given. */
function failingStores(errors: PortError[]): Stores & { polls: () => number } {
  const log = openSqliteLog({ path: ':memory:' });
  const history = openSqliteHistory({ path: ':memory:' });
  let polls = 0;
  return {
    log: {
      ...log,
      poll: (p) => {
        polls += 1;
        const error = errors.shift();
        return error === undefined ? log.poll(p) : Promise.reject(error);
      },
    },
    history,
    polls: () => polls,
    close: async () => undefined,
  };
}

const failure = (retryable: boolean) =>
  new PortError({ port: 'log', code: 'busy', message: 'The log is busy.', retryable });

describe('keepAnalysing', () => {
  beforeEach(() => {
    vi.useFakeTimers();
    vi.spyOn(process.stderr, 'write').mockReturnValue(true);
  });
  afterEach(() => {
    vi.useRealTimers();
    vi.restoreAllMocks();
  });

  test('a failure that can pass is tried again, and the work goes on', async () => {
    const controller = new AbortController();
    const stores = failingStores([failure(true), failure(true)]);
    const done = keepAnalysing({ stores, fleet, signal: controller.signal });
    await vi.advanceTimersByTimeAsync(10_000);
    expect(stores.polls()).toBeGreaterThan(4);
    controller.abort();
    await vi.advanceTimersByTimeAsync(0);
    await expect(done).resolves.toBeUndefined();
  });

  test('a failure that does not pass is thrown in the end, after a bounded number of tries', async () => {
    const stores = failingStores(Array.from({ length: 100 }, () => failure(true)));
    const done = keepAnalysing({ stores, fleet, signal: new AbortController().signal });
    const thrown = expect(done).rejects.toMatchObject({ code: 'busy' });
    await vi.advanceTimersByTimeAsync(24 * 3_600_000);
    await thrown;
    expect(stores.polls()).toBe(9);
  });

  test('a failure that cannot pass is thrown at once', async () => {
    const stores = failingStores([failure(false)]);
    await expect(keepAnalysing({ stores, fleet, signal: new AbortController().signal })).rejects.toMatchObject({
      retryable: false,
    });
    expect(stores.polls()).toBe(1);
  });
});
