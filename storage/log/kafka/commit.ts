import type { Message, Transaction } from 'kafkajs';
import { assert } from '../../../schemas/assert.ts';
import type { Step, Topic } from '../port.ts';
import { encodeValue } from '../record-codec.ts';
import { type Connection, ignoreClientError } from './connection.ts';
import { asLogError, logError } from './errors.ts';
import { settle } from './outcome.ts';
import type { Lease, Producers } from './producers.ts';
import { type SentPlaces, sendAll, type TopicMessages } from './send.ts';
import { positionMessage, type StateMessage, stateMessage, turnMessage } from './state-record.ts';
import type { StateTable, StateTables } from './state-table.ts';

/** What a position of this adapter holds: of which partition, where the group stood, and where it will stand. */
export type Token = {
  readonly partition: number;
  readonly from: ReadonlyMap<Topic, number>;
  readonly to: ReadonlyMap<Topic, number>;
};

/** Another worker's step can come between at most so often before the caller is told; each time it was its turn. */
const ATTEMPTS = 8;

/**
 * Makes a step durable, in one transaction of the broker.
 *
 * Kafka can not say "only if nobody has changed it". So steps over the same states line up: every step writes into the
 * partitions of its states first, then waits until everything before its own first record there has ended, and only then
 * looks whether what it expects still holds; if not, it gives its transaction up. Who wrote first is first. Steps over
 * several partitions take their places in the order of the partitions, so that no two wait for each other. A worker that
 * stops in the middle is cut off by the broker after the transaction's time, and whatever it does later is refused.
 */
export async function commitStep(
  p: { connection: Connection; tables: StateTables; producers: Producers },
  step: Step,
): Promise<void> {
  const plan = planOf(p.connection, step);
  for (let attempt = 1; ; attempt += 1) {
    // What cannot hold any more is refused before anything is written.
    const tables = await p.tables.current({ group: step.group, partitions: plan.partitions });
    for (const table of tables) checkTable(p.connection, step, table);
    if (await tryStep(p, step, plan)) return;
    if (attempt >= ATTEMPTS) {
      throw logError({
        code: 'busy',
        message: `Other workers of "${step.group}" were ${ATTEMPTS} times quicker to change the same states. It is tried again.`,
        retryable: true,
      });
    }
  }
}

type Plan = {
  /** Partitions of the group's states that the step reads or writes, rising. */
  readonly partitions: readonly number[];
  readonly records: readonly TopicMessages[];
};

function planOf(connection: Connection, step: Step): Plan {
  const touched = new Set<number>();
  for (const { key } of step.state) {
    assert(key !== '', 'a state has a key');
    touched.add(connection.partitionOf(key));
  }
  for (const { key } of step.expect ?? []) touched.add(connection.partitionOf(key));
  if (step.position !== undefined) {
    assert(step.position.group === step.group, 'a step commits a position of its own group');
    touched.add(tokenOf(step)?.partition ?? 0);
  }
  const records = step.emit.map(
    (emit): TopicMessages => ({
      topic: connection.topicName(emit.topic),
      messages: [{ key: emit.key, value: Buffer.from(encodeValue(emit)), partition: connection.partitionOf(emit.key) }],
    }),
  );
  return { partitions: [...touched].sort((a, b) => a - b), records };
}

function tokenOf(step: Step): Token | undefined {
  return step.position?.token as Token | undefined;
}

/** @returns False when another step came between, so that this one has to be worked out anew. */
async function tryStep(
  p: { connection: Connection; tables: StateTables; producers: Producers },
  step: Step,
  plan: Plan,
): Promise<boolean> {
  const lease = await p.producers.take().catch((error: unknown) => {
    throw asLogError('write to the broker', error);
  });
  let transaction: Transaction | undefined;
  const sent: SentPlaces = new Map();
  let isEnding = false;
  try {
    transaction = await lease.producer.transaction();
    const written = await write(p, { step, plan, transaction, sent });
    if (written === undefined) {
      await transaction.abort();
      p.producers.giveBack(lease);
      return false;
    }
    await sendOffsets(p.connection, step, transaction);
    isEnding = true;
    await transaction.commit();
    p.producers.giveBack(lease);
    written();
    return true;
  } catch (error) {
    await giveUp(p.producers, lease, isEnding ? undefined : transaction);
    // The broker may have ended the transaction well without our hearing of it.
    if (isEnding && (await settle(p.connection, { transactionalId: lease.transactionalId, sent }))) return true;
    throw asLogError('write a step to the broker', error);
  }
}

/** A transaction that went wrong is aborted if it can be; its producer is used no more. */
async function giveUp(producers: Producers, lease: Lease, transaction: Transaction | undefined): Promise<void> {
  if (transaction?.isActive() === true) await transaction.abort().catch(ignoreClientError);
  await producers.discard(lease);
}

type Writing = {
  readonly step: Step;
  readonly plan: Plan;
  readonly transaction: Transaction;
  readonly sent: SentPlaces;
};

/** @returns What is to be done once the transaction has ended well, or `undefined` when another step came between. */
async function write(
  p: { connection: Connection; tables: StateTables },
  { step, plan, transaction, sent }: Writing,
): Promise<(() => void) | undefined> {
  const { group } = step;
  const last = plan.partitions.at(-1);
  if (last === undefined) {
    await sendAll(transaction, plan.records, sent);
    return () => {};
  }
  const topic = await p.connection.stateTopic(group);
  const tables: StateTable[] = [];
  for (const partition of plan.partitions.slice(0, -1)) {
    await sendAll(transaction, [{ topic, messages: [{ ...turnMessage(), partition }] }], sent);
    const table = await p.tables.upTo({ group, partition, offset: placeOf(sent, topic, partition) });
    checkTable(p.connection, step, table);
    tables.push(table);
  }
  // In the last partition the step's own records are its place in the queue; what they build on is looked at again after.
  const table = await p.tables.upTo({ group, partition: last, offset: 0 });
  const states = [...tables, table].map((one) => ({ table: one, messages: messagesFor(p.connection, step, one) }));
  // A step that only expects something of a partition takes its place there as well.
  const messages = states.map(({ table: { partition }, messages: own }) => ({
    topic,
    messages: (own.length === 0 ? [turnMessage()] : own).map((message): Message => ({ ...message, partition })),
  }));
  const before = mark(step, table);
  const requests = await sendAll(transaction, [...messages, ...plan.records], sent);
  const offset = placeOf(sent, topic, last);
  await p.tables.upTo({ group, partition: last, offset });
  checkTable(p.connection, step, table);
  if (mark(step, table) !== before) return undefined;
  const own = states.at(-1)?.messages ?? [];
  if (requests > 1) return () => {};
  return () => p.tables.apply(table, { offset, records: own.map(asStored) });
}

function placeOf(sent: SentPlaces, topic: string, partition: number): number {
  const place = sent.get(`${topic}/${partition}`);
  assert(place !== undefined, 'what was sent has a place');
  return place.offset;
}

function asStored(message: StateMessage) {
  return {
    timestampMs: 0,
    key: Buffer.from(message.key),
    value: Buffer.from(message.value),
    headers: message.headers ?? {},
  };
}

/** Everything of a table that the step builds on, as one text to be compared. */
function mark(step: Step, table: StateTable): string {
  const versions = step.state.map(({ key }) => table.states.get(key)?.version ?? 0);
  const positions = [...(tokenOf(step)?.from.keys() ?? [])].map((topic) => table.positions.get(topic) ?? 0);
  return JSON.stringify([versions, positions]);
}

/** What the step changes in one partition of the states. */
function messagesFor(connection: Connection, step: Step, table: StateTable): StateMessage[] {
  const messages = new Map<string, StateMessage>();
  const versions = new Map<string, number>();
  for (const { key, value } of step.state) {
    if (connection.partitionOf(key) !== table.partition) continue;
    const known = table.states.get(key);
    const version = versions.get(key) ?? known?.version ?? 0;
    if (value === null && (known === undefined || known.text === undefined) && !versions.has(key)) continue;
    versions.set(key, version + 1);
    messages.set(
      key,
      stateMessage({ key, version: version + 1, text: value === null ? undefined : JSON.stringify(value) }),
    );
  }
  const token = tokenOf(step);
  const position = token?.partition === table.partition ? [positionMessage(movedTo(table, token))] : [];
  return [...messages.values(), ...position];
}

/** The record of positions names all topics, as compaction keeps only the newest record. */
function movedTo(table: StateTable, token: Token): ReadonlyMap<Topic, number> {
  return new Map([...table.positions, ...token.to]);
}

/** @throws PortError `state_changed` or `position_moved` when the table is not as the step has it. */
function checkTable(connection: Connection, step: Step, table: StateTable): void {
  for (const { key, version } of step.expect ?? []) {
    if (connection.partitionOf(key) !== table.partition) continue;
    const state = table.states.get(key);
    const found = state?.text === undefined ? 0 : state.version;
    if (found !== version) {
      throw logError({
        code: 'state_changed',
        message: `The state of "${key}" has changed meanwhile (version ${found}, not ${version}). Look at it again and repeat the change.`,
      });
    }
  }
  const token = tokenOf(step);
  if (token === undefined || token.partition !== table.partition) return;
  for (const [topic, from] of token.from) {
    if ((table.positions.get(topic) ?? 0) !== from) {
      throw logError({
        code: 'position_moved',
        message: `These records of "${topic}" have been dealt with already by another worker of "${step.group}". Take the next ones.`,
        retryable: true,
      });
    }
  }
}

/** The group's place for the broker's own tools, in the same transaction; chargeair itself goes by its table. */
async function sendOffsets(connection: Connection, step: Step, transaction: Transaction): Promise<void> {
  const token = tokenOf(step);
  if (token === undefined) return;
  await transaction.sendOffsets({
    consumerGroupId: connection.groupName(step.group),
    topics: [...token.to].map(([topic, offset]) => ({
      topic: connection.topicName(topic),
      partitions: [{ partition: token.partition, offset: String(offset) }],
    })),
  });
}
