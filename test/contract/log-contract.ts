import { afterEach, describe, expect } from 'vitest';
import type { Emit, Json, LogPort, Step, Topic } from '../../storage/log/port.ts';
import { collect, createClaims, portCodeOf, type Skip } from './contract.ts';
import { deadLetter, finding, samples, verdict } from './records.ts';

/** Opens a log; the same `name` opens the same log again, which is how reopening and a second process are tried. */
export type OpenLog = (name: string) => Promise<LogPort>;

const GROUP = 'analysis';

/** Declares what every log promises; see the port for the sentences that these tests stand for. */
export function describeLog(name: string, createOpen: () => OpenLog, p: { skip?: readonly Skip[] } = {}): void {
  describe(`log contract: ${name}`, () => {
    const { claim, close } = createClaims(p.skip ?? []);
    const connect = createOpen();
    const opened: LogPort[] = [];
    let tests = 0;
    afterEach(async () => {
      tests += 1;
      for (const log of opened.splice(0)) await log.close();
    });
    const open: OpenLog = async (file) => {
      const log = await connect(`${tests}-${file}`);
      opened.push(log);
      return log;
    };
    declareReading(claim, open);
    declareSteps(claim, open);
    declareStates(claim, open);
    declareReopening(claim, open);
    close();
  });
}

type Claim = ReturnType<typeof createClaims>['claim'];

/** A step that only emits. */
function emitting(...emit: readonly Emit[]): Step {
  return { group: 'ingest', emit, state: [] };
}

function step(p: Partial<Step>): Step {
  return { group: GROUP, emit: [], state: [], ...p };
}

/** All records that a group still has to deal with, committing batch by batch. */
async function drain(log: LogPort, p: { group?: string; topics: readonly Topic[]; max: number }): Promise<Emit[]> {
  const group = p.group ?? GROUP;
  const all: Emit[] = [];
  for (;;) {
    const batch = await log.poll({ group, topics: p.topics, max: p.max });
    if (batch === undefined) return all;
    expect(batch.records.length).toBeGreaterThan(0);
    expect(batch.records.length).toBeLessThanOrEqual(p.max);
    for (const { offset: _, ...record } of batch.records) all.push(record as Emit);
    await log.commit(step({ group, position: batch.position }));
  }
}

function byKey(records: readonly Emit[]): Map<string, unknown[]> {
  const found = new Map<string, unknown[]>();
  for (const { key, value } of records) found.set(key, [...(found.get(key) ?? []), value]);
  return found;
}

function declareReading(claim: Claim, open: OpenLog): void {
  claim('an empty log has nothing to poll, scan, remember or lag behind', async () => {
    const log = await open('a');
    expect(await log.poll({ group: GROUP, topics: ['samples'], max: 10 })).toBeUndefined();
    expect(await collect(log.scan({ topic: 'samples' }))).toEqual([]);
    expect((await log.states({ group: GROUP, keys: ['u'] })).size).toBe(0);
    expect(await collect(log.allStates({ group: GROUP }))).toEqual([]);
    expect(await log.lag({ group: GROUP, topics: ['samples', 'verdicts'] })).toBe(0);
  });

  claim('every topic comes back as it was written, whatever its script', async () => {
    const log = await open('a');
    const records = [
      samples({ unit: 'ü-船-1', mark: 1 }),
      finding({ unit: 'u', id: 'f' }),
      verdict('Łódź 🚢'),
      deadLetter('u'),
    ];
    await log.commit(emitting(...records));
    for (const record of records) {
      const found = await collect(log.scan({ topic: record.topic }));
      expect(found.map(({ offset: _, ...rest }) => rest)).toStrictEqual([record]);
    }
  });

  claim('records of one key come in the order of their commits, in batches of any size', async () => {
    const log = await open('a');
    const records = Array.from({ length: 60 }, (_, i) => samples({ unit: `unit-${(i * 7) % 5}`, mark: i }));
    for (let i = 0; i < records.length; i += 4) await log.commit(emitting(...records.slice(i, i + 4)));
    for (const max of [1, 7, 1000]) {
      const read = await drain(log, { group: `by-${max}`, topics: ['samples'], max });
      expect(byKey(read)).toStrictEqual(byKey(records));
    }
  });

  claim('a batch that was not committed comes again, whole and in the same order', async () => {
    const log = await open('a');
    await log.commit(emitting(...Array.from({ length: 9 }, (_, i) => samples({ unit: 'u', mark: i }))));
    const first = await log.poll({ group: GROUP, topics: ['samples'], max: 5 });
    const second = await log.poll({ group: GROUP, topics: ['samples'], max: 5 });
    expect(first?.records).toHaveLength(5);
    expect(second?.records).toStrictEqual(first?.records);
  });

  claim('several topics are polled together, and none is passed over', async () => {
    const log = await open('a');
    await log.commit(
      emitting(verdict('u'), samples({ unit: 'u', mark: 1 }), finding({ unit: 'u', id: 'f' }), verdict('u')),
    );
    expect(await drain(log, { topics: ['samples'], max: 10 })).toHaveLength(1);
    expect(await drain(log, { topics: ['samples', 'verdicts'], max: 1 })).toHaveLength(2);
    expect(await log.lag({ group: GROUP, topics: ['samples', 'verdicts', 'findings'] })).toBe(1);
  });

  claim('groups stand where they stand, each for itself', async () => {
    const log = await open('a');
    await log.commit(emitting(samples({ unit: 'u', mark: 1 }), samples({ unit: 'u', mark: 2 })));
    expect(await drain(log, { group: 'one', topics: ['samples'], max: 9 })).toHaveLength(2);
    expect(await log.lag({ group: 'one', topics: ['samples'] })).toBe(0);
    expect(await log.lag({ group: 'two', topics: ['samples'] })).toBe(2);
    expect(await drain(log, { group: 'two', topics: ['samples'], max: 9 })).toHaveLength(2);
  });

  claim('lag counts what is left', async () => {
    const log = await open('a');
    await log.commit(emitting(...Array.from({ length: 8 }, (_, i) => samples({ unit: `u${i}`, mark: i }))));
    const batch = await log.poll({ group: GROUP, topics: ['samples'], max: 3 });
    await log.commit(step({ ...(batch === undefined ? {} : { position: batch.position }) }));
    expect(await log.lag({ group: GROUP, topics: ['samples'] })).toBe(8 - (batch?.records.length ?? 0));
  });

  claim('a scan gives one key or all, in order, past any page', async () => {
    const log = await open('a');
    const records = Array.from({ length: 700 }, (_, i) => finding({ unit: `u${i % 2}`, id: `f${i}` }));
    await log.commit(emitting(...records));
    const all = await collect(log.scan({ topic: 'findings' }));
    const one = await collect(log.scan({ topic: 'findings', key: 'u1' }));
    expect(byKey(all)).toStrictEqual(byKey(records));
    expect(one.map((record) => record.value.id)).toEqual(Array.from({ length: 350 }, (_, i) => `f${2 * i + 1}`));
    expect(await collect(log.scan({ topic: 'findings', key: 'nobody' }))).toEqual([]);
  });

  claim('large blocks come in several batches, bounded in size, with nothing missing', async () => {
    const log = await open('a');
    // Irrational numbers pack badly: about 8 bytes a value, 16 MB in all.
    const big = Array.from({ length: 60 }, (_, mark): Emit => {
      const { value } = samples({ unit: 'u', mark, length: 2048 }) as Extract<Emit, { topic: 'samples' }>;
      const keys = ['engineSpeed', 'boostPressure', 'oilPressure', 'oilTemperature', 'fuelRate', 'engineLoad'] as const;
      const columns = keys.map((key, k) => [key, value.t.map((_, i) => Math.sqrt(i + k + mark * 3000))]);
      return { topic: 'samples', key: 'u', value: { ...value, signals: Object.fromEntries(columns) } };
    });
    for (const record of big) await log.commit(emitting(record));
    const first = await log.poll({ group: GROUP, topics: ['samples'], max: 1000 });
    expect(first?.records.length).toBeLessThan(big.length);
    const read = await drain(log, { topics: ['samples'], max: 1000 });
    expect(read).toStrictEqual(big);
  });
}

function declareSteps(claim: Claim, open: OpenLog): void {
  /** A polled batch of one record. */
  async function polled(log: LogPort) {
    await log.commit(emitting(samples({ unit: 'u', mark: 1 })));
    const batch = await log.poll({ group: GROUP, topics: ['samples'], max: 1 });
    expect(batch).toBeDefined();
    return batch?.position ?? { group: GROUP, token: undefined };
  }

  claim('a step is there whole: emitted, remembered, moved on', async () => {
    const log = await open('a');
    const position = await polled(log);
    await log.commit(
      step({ emit: [finding({ unit: 'u', id: 'f' })], state: [{ key: 'u', value: { seen: 1 } }], position }),
    );
    expect(await collect(log.scan({ topic: 'findings' }))).toHaveLength(1);
    expect((await log.states({ group: GROUP, keys: ['u'] })).get('u')).toEqual({ value: { seen: 1 }, version: 1 });
    expect(await log.poll({ group: GROUP, topics: ['samples'], max: 1 })).toBeUndefined();
  });

  claim('a refused step leaves nothing behind', async () => {
    const log = await open('a');
    const position = await polled(log);
    const refused = step({
      emit: [finding({ unit: 'u', id: 'f' })],
      state: [{ key: 'u', value: 1 }],
      position,
      expect: [{ key: 'other', version: 3 }],
    });
    expect(await portCodeOf(() => log.commit(refused))).toBe('state_changed');
    expect(await collect(log.scan({ topic: 'findings' }))).toEqual([]);
    expect((await log.states({ group: GROUP, keys: ['u'] })).size).toBe(0);
    expect(await log.lag({ group: GROUP, topics: ['samples'] })).toBe(1);
    expect((await log.poll({ group: GROUP, topics: ['samples'], max: 1 }))?.records).toHaveLength(1);
  });

  claim('a batch cannot be dealt with twice', async () => {
    const log = await open('a');
    const position = await polled(log);
    await log.commit(step({ position }));
    const again = step({ emit: [finding({ unit: 'u', id: 'f' })], position });
    expect(await portCodeOf(() => log.commit(again))).toBe('position_moved');
    expect(await collect(log.scan({ topic: 'findings' }))).toEqual([]);
  });

  claim('an expectation holds only for the version that was seen', async () => {
    const log = await open('a');
    const change = (value: Json, version: number) =>
      portCodeOf(() => log.commit(step({ state: [{ key: 'k', value }], expect: [{ key: 'k', version }] })));
    expect(await change('first', 0)).toBeUndefined();
    expect(await change('second', 0)).toBe('state_changed');
    expect(await change('third', 1)).toBeUndefined();
    expect(await change('fourth', 1)).toBe('state_changed');
    expect((await log.states({ group: GROUP, keys: ['k'] })).get('k')).toEqual({ value: 'third', version: 2 });
  });
}

function declareStates(claim: Claim, open: OpenLog): void {
  claim('a forgotten key is gone, and its old versions never hold again', async () => {
    const log = await open('a');
    await log.commit(
      step({
        state: [
          { key: 'k', value: 'old' },
          { key: 'stays', value: 0 },
        ],
      }),
    );
    await log.commit(
      step({
        state: [
          { key: 'k', value: null },
          { key: 'never was', value: null },
        ],
      }),
    );
    expect((await log.states({ group: GROUP, keys: ['k', 'never was'] })).size).toBe(0);
    expect((await collect(log.allStates({ group: GROUP }))).map(({ key }) => key)).toEqual(['stays']);
    await log.commit(step({ state: [{ key: 'k', value: 'new' }], expect: [{ key: 'k', version: 0 }] }));
    const stale = step({ state: [{ key: 'k', value: 'stale' }], expect: [{ key: 'k', version: 1 }] });
    expect(await portCodeOf(() => log.commit(stale))).toBe('state_changed');
  });

  claim('states belong to their group', async () => {
    const log = await open('a');
    await log.commit(step({ state: [{ key: 'k', value: 1 }] }));
    await log.commit({ group: 'alerts', emit: [], state: [{ key: 'k', value: 2 }] });
    expect((await log.states({ group: GROUP, keys: ['k'] })).get('k')?.value).toBe(1);
    expect((await log.states({ group: 'alerts', keys: ['k'] })).get('k')?.value).toBe(2);
  });

  claim('allStates gives every state in the order of the keys', async () => {
    const log = await open('a');
    const keys = Array.from({ length: 150 }, (_, i) => `key ${String((i * 37) % 150).padStart(3, '0')}`);
    await log.commit(step({ state: keys.map((key) => ({ key, value: { of: key } })) }));
    const found = await collect(log.allStates({ group: GROUP }));
    expect(found).toEqual(keys.toSorted().map((key) => ({ key, state: { value: { of: key }, version: 1 } })));
  });

  claim('a large state and odd keys and values survive', async () => {
    const log = await open('a');
    const state: { key: string; value: Json }[] = [
      { key: 'large', value: { numbers: Array.from({ length: 8000 }, (_, i) => Math.sqrt(i)) } },
      { key: 'ключ 🔑 "\'%_', value: { '': [null, true, false, 0, -1.5e-300, 'тест\u0000'] } },
      { key: 'plain', value: 'text' },
      { key: 'false', value: false },
      { key: 'empty', value: {} },
    ];
    await log.commit(step({ state }));
    const found = await log.states({ group: GROUP, keys: state.map(({ key }) => key) });
    for (const { key, value } of state) expect(found.get(key)).toStrictEqual({ value, version: 1 });
  });

  claim('others may write while states and records are being walked through', async () => {
    const log = await open('a');
    const keys = Array.from({ length: 100 }, (_, i) => `k${String(i).padStart(3, '0')}`);
    await log.commit(
      step({ state: keys.map((key) => ({ key, value: 0 })), emit: keys.map((id) => finding({ unit: 'u', id })) }),
    );
    let walked = 0;
    for await (const { key } of log.allStates({ group: GROUP })) {
      walked += 1;
      await log.commit(step({ state: [{ key, value: walked }] }));
    }
    expect(walked).toBe(100);
  });
}

function declareReopening(claim: Claim, open: OpenLog): void {
  claim('everything committed is there after closing and opening again', async () => {
    const before = await open('a');
    const records = Array.from({ length: 6 }, (_, i) => samples({ unit: 'u', mark: i }));
    await before.commit(emitting(...records));
    const batch = await before.poll({ group: GROUP, topics: ['samples'], max: 2 });
    const position = batch?.position;
    await before.commit(
      step({ state: [{ key: 'u', value: [1, 2] }], ...(position === undefined ? {} : { position }) }),
    );
    await before.close();
    const after = await open('a');
    expect((await after.states({ group: GROUP, keys: ['u'] })).get('u')).toEqual({ value: [1, 2], version: 1 });
    expect(await drain(after, { topics: ['samples'], max: 10 })).toStrictEqual(records.slice(batch?.records.length));
  });

  claim('two openings of one log see each other, and only one of them may deal with a batch', async () => {
    const one = await open('a');
    const two = await open('a');
    await one.commit(emitting(samples({ unit: 'u', mark: 1 })));
    const batch = await one.poll({ group: GROUP, topics: ['samples'], max: 9 });
    const same = await two.poll({ group: GROUP, topics: ['samples'], max: 9 });
    expect(same?.records).toStrictEqual(batch?.records);
    if (batch === undefined || same === undefined) throw new Error('both openings had a batch');
    await two.commit(step({ position: same.position }));
    expect(await portCodeOf(() => one.commit(step({ position: batch.position })))).toBe('position_moved');
  });

  claim('closing twice is closing once', async () => {
    const log = await open('a');
    await log.close();
    await log.close();
  });

  claim('nothing can be done with a closed log', async () => {
    const log = await open('a');
    await log.close();
    expect(await portCodeOf(() => log.commit(emitting(verdict('u'))))).toBe('closed');
    expect(await portCodeOf(() => log.lag({ group: GROUP, topics: ['samples'] }))).toBe('closed');
  });
}
