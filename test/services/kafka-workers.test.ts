import { randomUUID } from 'node:crypto';
import { Kafka, logLevel, type Message } from 'kafkajs';
import { afterEach, describe, expect, inject, test } from 'vitest';
import type { KafkaSettings } from '../../storage/log/kafka/settings.ts';
import { openKafkaLog } from '../../storage/log/kafka.ts';
import type { LogPort } from '../../storage/log/port.ts';
import { PortError } from '../../storage/port-error.ts';
import { collect, portCodeOf } from '../contract/contract.ts';
import { byKey, drain, emitting, GROUP, step } from '../contract/log-steps.ts';
import { finding, samples } from '../contract/records.ts';

const opened: LogPort[] = [];
afterEach(async () => {
  for (const log of opened.splice(0)) await log.close();
});

async function open(prefix: string, more: Partial<KafkaSettings> = {}): Promise<LogPort> {
  const log = await openKafkaLog({ brokers: [inject('kafkaAddress')], prefix, partitions: 4, replicas: 1, ...more });
  opened.push(log);
  return log;
}

const newPrefix = () => randomUUID().slice(0, 8);
const kafka = () => new Kafka({ brokers: [inject('kafkaAddress')], logLevel: logLevel.NOTHING });

/** Deals with at most `most` batches, or with all there are: a finding a record, and a state that lists the offsets. */
async function work(log: LogPort, most = Number.POSITIVE_INFINITY): Promise<void> {
  for (let batches = 0; batches < most; ) {
    try {
      const batch = await log.poll({ group: GROUP, topics: ['samples'], max: 3 });
      if (batch === undefined) {
        if ((await log.lag({ group: GROUP, topics: ['samples'] })) === 0) return;
        continue;
      }
      batches += 1;
      const emit = batch.records.map(({ key, offset }) => finding({ unit: key, id: `${key}/${offset}` }));
      const states = await log.states({ group: GROUP, keys: batch.records.map(({ key }) => key) });
      const seen = new Map([...states].map(([key, { value }]) => [key, value as number[]]));
      for (const { key, offset } of batch.records) seen.set(key, [...(seen.get(key) ?? []), offset]);
      const state = [...seen].map(([key, value]) => ({ key, value }));
      await log.commit(step({ emit, state, position: batch.position }));
    } catch (error) {
      if (!(error instanceof PortError) || error.code !== 'position_moved') throw error;
    }
  }
}

describe('workers that share a log in Kafka', () => {
  test('three deal with every record once and with each unit in order, as they come and go', async () => {
    const prefix = newPrefix();
    const [one, two, three] = [await open(prefix), await open(prefix), await open(prefix)];
    const records = Array.from({ length: 240 }, (_, i) => samples({ unit: `unit-${i % 12}`, mark: i }));
    for (let i = 0; i < records.length; i += 24) await one.commit(emitting(...records.slice(i, i + 24)));
    // The first begins alone, the others join it, and one leaves in the middle.
    await work(one, 5);
    await Promise.all([work(one), work(two, 6).then(() => two.close()), work(three)]);
    const found = (await collect(one.scan({ topic: 'findings' }))).map(({ value }) => value.id);
    const scanned = await collect(one.scan({ topic: 'samples' }));
    expect(found.toSorted()).toEqual(scanned.map(({ key, offset }) => `${key}/${offset}`).toSorted());
    for await (const { key, state } of one.allStates({ group: GROUP })) {
      expect(state.value).toEqual(scanned.filter((record) => record.key === key).map(({ offset }) => offset));
    }
    expect(byKey(scanned.map(({ offset: _, ...record }) => record))).toStrictEqual(byKey(records));
  });

  test('of two that hold the same batch the second is refused, and nothing of its step is there', async () => {
    const prefix = newPrefix();
    const [one, two] = [await open(prefix), await open(prefix)];
    await one.commit(emitting(samples({ unit: 'u', mark: 1 })));
    const batch = await one.poll({ group: GROUP, topics: ['samples'], max: 9 });
    if (batch === undefined) throw new Error('there is a batch');
    const { position } = batch;
    const of = (id: string) => step({ emit: [finding({ unit: 'u', id })], state: [{ key: 'u', value: id }], position });
    const codes = await Promise.all([portCodeOf(() => one.commit(of('a'))), portCodeOf(() => two.commit(of('b')))]);
    expect(codes.toSorted()).toEqual(['position_moved', undefined]);
    expect(await collect(one.scan({ topic: 'findings' }))).toHaveLength(1);
  });

  test('of many who change the same states at once each sees the change before', async () => {
    const prefix = newPrefix();
    const logs = [await open(prefix), await open(prefix), await open(prefix)];
    // States in several partitions, named in different orders: nobody may wait for another crosswise.
    const keys = ['a', 'b', 'c', 'd', 'e', 'f'];
    const count = async (log: LogPort, order: readonly string[]) => {
      for (let done = 0; done < 10; ) {
        const seen = await log.states({ group: GROUP, keys });
        const next = ((seen.get('a')?.value as number | undefined) ?? 0) + 1;
        const state = order.map((key) => ({ key, value: next }));
        const expected = order.map((key) => ({ key, version: seen.get(key)?.version ?? 0 }));
        const code = await portCodeOf(() => log.commit(step({ state, expect: expected })));
        if (code === undefined) done += 1;
        else expect(['state_changed', 'busy']).toContain(code);
      }
    };
    await Promise.all(logs.map((log, i) => count(log, i % 2 === 0 ? keys : keys.toReversed())));
    const states = await logs[0]?.states({ group: GROUP, keys });
    expect([...(states ?? [])]).toEqual(keys.map((key) => [key, { value: 30, version: 30 }]));
  });

  test('a step left open by one that died holds the others up until the broker gives it up', async () => {
    const prefix = newPrefix();
    const log = await open(prefix, { partitions: 1 });
    await log.commit(step({ state: [{ key: 'k', value: 'before' }] }));
    const producer = kafka().producer({
      transactionalId: prefix,
      idempotent: true,
      maxInFlightRequests: 1,
      transactionTimeout: 2000,
    });
    await producer.connect();
    const left = await producer.transaction();
    const message: Message = { key: 'state/k', value: '"never"', headers: { version: '2' }, partition: 0 };
    await left.send({ topic: `${prefix}.states.${GROUP}`, messages: [message] });
    await log.commit(step({ state: [{ key: 'k', value: 'after' }], expect: [{ key: 'k', version: 1 }] }));
    expect((await log.states({ group: GROUP, keys: ['k'] })).get('k')).toEqual({ value: 'after', version: 2 });
    // What the dead one does later is void.
    await expect(left.commit()).rejects.toThrow();
    expect((await log.states({ group: GROUP, keys: ['k'] })).get('k')).toEqual({ value: 'after', version: 2 });
    await producer.disconnect();
  });
});

describe('what others do to a log in Kafka', () => {
  test('records that nobody can read become dead letters, and those behind them are dealt with', async () => {
    const prefix = newPrefix();
    const notices: string[] = [];
    const log = await open(prefix, { partitions: 1, onNotice: (sentence) => notices.push(sentence) });
    await log.commit(emitting(samples({ unit: 'u', mark: 1 })));
    const producer = kafka().producer();
    await producer.connect();
    const strange: Message[] = [
      { key: 'u', value: 'no block' },
      { key: 'u', value: null },
      { key: null, value: '{}' },
    ];
    await producer.send({ topic: `${prefix}.samples`, messages: strange });
    await producer.send({ topic: `${prefix}.findings`, messages: [{ key: 'u', value: '{"version":1}' }] });
    await producer.disconnect();
    await log.commit(emitting(samples({ unit: 'u', mark: 2 }), finding({ unit: 'u', id: 'f' })));
    const read: unknown[] = [];
    const messages: string[] = [];
    for (;;) {
      try {
        const batch = await log.poll({ group: GROUP, topics: ['samples'], max: 10 });
        if (batch === undefined) break;
        for (const { offset: _, ...record } of batch.records) read.push(record);
        await log.commit(step({ position: batch.position }));
      } catch (error) {
        if (!(error instanceof PortError) || error.code !== 'record_unreadable') throw error;
        expect(error.retryable).toBe(true);
        messages.push(error.message);
      }
    }
    expect(read).toStrictEqual([samples({ unit: 'u', mark: 1 }), samples({ unit: 'u', mark: 2 })]);
    expect(messages).toHaveLength(3);
    expect(messages[0]).toMatch(new RegExp(`Record \\d+ of "${prefix}.samples", partition 0`));
    const letters = (await collect(log.scan({ topic: 'dead_letters' }))).map(({ value }) => value);
    expect(letters.map(({ unit, code, raw }) => ({ unit, code, raw }))).toEqual([
      { unit: 'u', code: 'record_unreadable', raw: 'no block' },
      { unit: 'u', code: 'record_unreadable', raw: '' },
      { unit: null, code: 'record_unreadable', raw: '{}' },
    ]);
    // A scan goes past them as well, and says so.
    expect(await collect(log.scan({ topic: 'findings' }))).toHaveLength(1);
    expect(notices).toHaveLength(1);
    expect(await drain(log, { group: 'other', topics: ['verdicts'], max: 1 })).toEqual([]);
  });

  test('a log that is not there is not made by those who only want to read', async () => {
    expect(await portCodeOf(() => open(newPrefix(), { isNew: 'refused' }))).toBe('missing');
  });

  test('topics with unequal numbers of partitions are refused', async () => {
    const prefix = newPrefix();
    const admin = kafka().admin();
    await admin.connect();
    await admin.createTopics({ topics: [{ topic: `${prefix}.samples`, numPartitions: 2 }] });
    await admin.createTopics({ topics: [{ topic: `${prefix}.findings`, numPartitions: 3 }] });
    await admin.disconnect();
    expect(await portCodeOf(() => open(prefix))).toBe('foreign');
  });

  test('a broker that is not there is named', async () => {
    const settings = { brokers: ['127.0.0.1:1'], prefix: 'x', partitions: 1, replicas: 1 };
    const error: unknown = await openKafkaLog(settings).catch((one: unknown) => one);
    expect(error).toMatchObject({ code: 'unreachable', retryable: true });
    expect((error as PortError).message).toContain('127.0.0.1:1');
  });
});
