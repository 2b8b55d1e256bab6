import { afterEach, describe, expect } from 'vitest';
import type { Emit, LogPort } from '../../storage/log/port.ts';
import { collect, createClaims, type Skip } from './contract.ts';
import { declareReopening, declareStates, declareSteps } from './log-step-contract.ts';
import { byKey, type Claim, drain, emitting, GROUP, type OpenLog, step } from './log-steps.ts';
import { deadLetter, finding, samples, verdict } from './records.ts';

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
