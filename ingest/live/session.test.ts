import { describe, expect, test } from 'vitest';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import type { LogPort, Step } from '../../storage/log/port.ts';
import { openSqliteLog } from '../../storage/log/sqlite.ts';
import { PortError } from '../../storage/port-error.ts';
import { clockLimits } from '../checks.ts';
import { createManualClock } from './manual-clock-for-tests.ts';
import { parseLiveMessage } from './parse-message.ts';
import { createLiveSession, type LiveSession, QUEUE_MESSAGES_MAX, SessionClosed } from './session.ts';

// What must hold follows from the promise of the log port and of MQTT and HTTP senders alike: no acknowledgement before
// it is durable, and a message that comes again changes nothing. Times are invented.

const START_MS = Date.UTC(2026, 2, 1, 6);
const UNITS = ['digger-1', 'digger-2'];

function message(p: { unit?: string; t: number[]; speed?: number[]; boost?: number[] }): Uint8Array {
  const signals = {
    ...(p.speed === undefined ? {} : { engineSpeed: p.speed }),
    ...(p.boost === undefined ? {} : { boostPressure: p.boost }),
  };
  const t = p.t.map((second) => START_MS + second * 1000);
  return new TextEncoder().encode(JSON.stringify({ version: 1, unit: p.unit ?? 'digger-1', samples: { t, signals } }));
}

function setUp(log: LogPort = openSqliteLog({ path: ':memory:' })) {
  const clock = createManualClock(START_MS + 3_600_000);
  const failures: unknown[] = [];
  const session = createLiveSession({ log, source: 'gate', units: UNITS, clock, onFailure: (e) => failures.push(e) });
  const take = (bytes: Uint8Array) =>
    session.take({
      batch: parseLiveMessage(bytes, { unitIds: new Set(UNITS), clock: clockLimits(clock.now()) }),
      name: 'test',
      format: 'json',
      fingerprint: () => Buffer.from(bytes).toString('hex').slice(-64),
    });
  return { log, clock, session, take, failures };
}

async function settle(session: LiveSession, clock: { advance(ms: number): Promise<void> }) {
  const ended = session.drain();
  await clock.advance(60_000);
  await ended;
}

async function blocksIn(log: LogPort): Promise<SampleBlock[]> {
  const blocks: SampleBlock[] = [];
  for await (const record of log.scan({ topic: 'samples' })) blocks.push(record.value);
  return blocks;
}

const seconds = (blocks: readonly SampleBlock[]) => blocks.flatMap(({ t }) => t.map((ms) => (ms - START_MS) / 1000));

describe('a live session', () => {
  test('acknowledges only once the log has the step, and the rows are there after a restart', async () => {
    const log = openSqliteLog({ path: ':memory:' });
    let release = () => {};
    const held: LogPort = {
      ...log,
      commit: async (step: Step) => {
        await new Promise<void>((resolve) => {
          release = resolve;
        });
        await log.commit(step);
      },
    };
    const first = setUp(held);
    let isAcknowledged = false;
    const taken = first.take(message({ t: [0, 1], speed: [800, 900] })).then((receipt) => {
      isAcknowledged = true;
      return receipt;
    });
    await first.clock.advance(100);
    expect(isAcknowledged).toBe(false);
    release();
    expect(await taken).toMatchObject({ accepted: 2, duplicates: 0 });
    // The first session is left as a crash would leave it: its rows lie open in the log, and the next sends them on.
    const second = setUp(log);
    await settle(second.session, second.clock);
    expect(seconds(await blocksIn(log))).toEqual([0, 1]);
  });

  test('counts what comes again as duplicates, before and after it went on, and after a restart', async () => {
    const { log, clock, session, take } = setUp();
    const bytes = message({ t: [0, 1, 2], speed: [800, 900, 1000] });
    const first = take(bytes);
    await clock.advance(100);
    expect(await first).toMatchObject({ accepted: 3, duplicates: 0 });
    const again = take(bytes);
    await clock.advance(100);
    expect(await again).toMatchObject({ accepted: 0, duplicates: 3 });
    await settle(session, clock);
    const next = setUp(log);
    const third = next.take(bytes);
    await next.clock.advance(100);
    expect(await third).toMatchObject({ accepted: 0, duplicates: 3 });
    await settle(next.session, next.clock);
    expect(seconds(await blocksIn(log))).toEqual([0, 1, 2]);
  });

  test('a row that comes after its neighbours went on is late, not a duplicate, however close they are', async () => {
    const { log, clock, session, take } = setUp();
    const all = [take(message({ t: [0, 1, 2, 4, 5], speed: [1, 2, 3, 5, 6] }))];
    await clock.advance(60_000);
    all.push(take(message({ t: [3], speed: [4] })), take(message({ t: [3], speed: [4] })));
    await clock.advance(60_000);
    expect(await Promise.all(all)).toMatchObject([
      { accepted: 5, late: 0 },
      { accepted: 1, late: 1, duplicates: 0 },
      { accepted: 0, late: 0, duplicates: 1 },
    ]);
    await settle(session, clock);
    expect(seconds(await blocksIn(log)).sort()).toEqual([0, 1, 2, 3, 4, 5]);
  });

  test('signals that come one by one meet in one row', async () => {
    const { log, clock, session, take } = setUp();
    const both = [take(message({ t: [0], speed: [800] })), take(message({ t: [0], boost: [40] }))];
    await clock.advance(100);
    expect(await Promise.all(both)).toMatchObject([{ accepted: 1 }, { accepted: 1 }]);
    await settle(session, clock);
    expect(await blocksIn(log)).toMatchObject([
      { t: [START_MS], signals: { engineSpeed: [800], boostPressure: [40] } },
    ]);
  });

  test('a signal that is behind the rest of its row is kept, and once only', async () => {
    const { log, clock, session, take } = setUp();
    void take(message({ t: [0, 10], speed: [800, 810] }));
    await clock.advance(60_000);
    const late = [take(message({ t: [0], boost: [40] })), take(message({ t: [0], boost: [40], speed: [800] }))];
    await clock.advance(60_000);
    expect(await Promise.all(late)).toMatchObject([
      { accepted: 1, late: 1 },
      { duplicates: 1, accepted: 0 },
    ]);
    await settle(session, clock);
    const boosts = (await blocksIn(log))
      .flatMap(({ signals }) => signals.boostPressure ?? [])
      .filter((v) => v !== null);
    expect(boosts).toEqual([40]);
  });

  test('rows go on without the next ones having to come', async () => {
    const { log, clock, take } = setUp();
    void take(message({ t: [0, 1], speed: [800, 900] }));
    await clock.advance(20_000);
    expect(await blocksIn(log)).toEqual([]);
    await clock.advance(20_000);
    expect(seconds(await blocksIn(log))).toEqual([0, 1]);
  });

  test('a failure that can pass is tried again, and nothing doubles or is lost', async () => {
    const log = openSqliteLog({ path: ':memory:' });
    let failures = 3;
    const shaky: LogPort = {
      ...log,
      commit: async (step) => {
        if (failures > 0) {
          failures -= 1;
          throw new PortError({ port: 'log', code: 'busy', message: 'busy', retryable: true });
        }
        await log.commit(step);
      },
    };
    const { clock, session, take } = setUp(shaky);
    const taken = take(message({ t: [0, 1], speed: [800, 900] }));
    await clock.advance(10_000);
    expect(await taken).toMatchObject({ accepted: 2, duplicates: 0 });
    await settle(session, clock);
    expect(seconds(await blocksIn(log))).toEqual([0, 1]);
  });

  test('a failure for good acknowledges nothing, says so once, and takes nothing more', async () => {
    const log = openSqliteLog({ path: ':memory:' });
    const full = new PortError({ port: 'log', code: 'disk_full', message: 'full', retryable: false });
    const { clock, take, failures } = setUp({ ...log, commit: () => Promise.reject(full) });
    const taken = take(message({ t: [0], speed: [800] })).catch((error: unknown) => error);
    await clock.advance(100);
    expect(await taken).toBe(full);
    expect(failures).toEqual([full]);
    expect(await take(message({ t: [1], speed: [800] })).catch((error: unknown) => error)).toBe(full);
  });

  test('two sessions of one source, as two processes make them, neither double nor lose a row', async () => {
    const { log, ...one } = setUp();
    const two = setUp(log);
    const all: Promise<{ accepted: number; duplicates: number }>[] = [];
    for (let i = 0; i < 40; i += 1) {
      all.push((i % 2 === 0 ? one : two).take(message({ t: [i, i + 1], speed: [i, i + 1] })));
      await one.clock.advance(50);
      await two.clock.advance(50);
    }
    await one.clock.advance(100_000);
    await two.clock.advance(100_000);
    await settle(one.session, one.clock);
    await settle(two.session, two.clock);
    const receipts = await Promise.all(all);
    expect(receipts.reduce((sum, { accepted }) => sum + accepted, 0)).toBe(41);
    expect(seconds(await blocksIn(log)).sort((a, b) => a - b)).toEqual(Array.from({ length: 41 }, (_, i) => i));
  });

  test('says when it has no room, and again when it has', async () => {
    const { clock, session, take } = setUp();
    const bytes = message({ t: [0], speed: [800] });
    const all = Array.from({ length: QUEUE_MESSAGES_MAX }, () => take(bytes));
    expect(session.hasRoom()).toBe(false);
    const room = session.room();
    await clock.advance(1000);
    await room;
    expect(session.hasRoom()).toBe(true);
    expect((await Promise.all(all)).reduce((sum, { accepted }) => sum + accepted, 0)).toBe(1);
  });

  test('what comes after the end is refused', async () => {
    const { clock, session, take } = setUp();
    await settle(session, clock);
    await expect(take(message({ t: [0], speed: [800] }))).rejects.toBeInstanceOf(SessionClosed);
  });
});
