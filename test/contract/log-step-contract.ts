import { expect } from 'vitest';
import type { Json, LogPort } from '../../storage/log/port.ts';
import { collect, portCodeOf } from './contract.ts';
import { type Claim, drain, emitting, GROUP, type OpenLog, step } from './log-steps.ts';
import { finding, samples, verdict } from './records.ts';

/** What a log promises of steps: all of one or nothing of it. */
export function declareSteps(claim: Claim, open: OpenLog): void {
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

/** What a log promises of states. */
export function declareStates(claim: Claim, open: OpenLog): void {
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

/** What a log promises over closing, opening again, and opening twice. */
export function declareReopening(claim: Claim, open: OpenLog): void {
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
