import { assert } from '../../../schemas/assert.ts';
import { PortError } from '../../port-error.ts';
import type { LogRecord, Topic } from '../port.ts';
import type { Connection } from './connection.ts';
import { logError } from './errors.ts';
import { pause } from './pause.ts';
import { readSlices, type StoredRecord } from './read-partition.ts';
import { decodeTopicRecord } from './topic-record.ts';

const WAIT_MS = 10;
const ENDING_MS = 30_000;

/**
 * All records of a topic, each partition's in order and the partitions by the times of writing. Records that nobody can
 * read are passed over with a notice: the group that deals with them puts them among the dead letters.
 */
export async function* scanTopic(connection: Connection, p: { topic: Topic; key?: string }): AsyncGenerator<LogRecord> {
  const partitions = p.key === undefined ? [...Array(connection.partitions).keys()] : [connection.partitionOf(p.key)];
  const key = p.key === undefined ? undefined : Buffer.from(p.key);
  const topicName = connection.topicName(p.topic);
  const heads = await Promise.all(
    partitions.map(async (partition) => {
      const records = recordsOf(connection, { topicName, partition });
      return { partition, records, head: (await records.next()).value };
    }),
  );
  for (;;) {
    let first: (typeof heads)[number] | undefined;
    for (const one of heads) {
      if (one.head === undefined) continue;
      if (first?.head === undefined || one.head.timestampMs < first.head.timestampMs) first = one;
    }
    if (first?.head === undefined) return;
    const record = first.head;
    if (key === undefined || record.key?.equals(key) === true) {
      const read = readable(connection, { topic: p.topic, topicName, partition: first.partition, record });
      if (read !== undefined) yield read;
    }
    first.head = (await first.records.next()).value;
  }
}

function readable(
  connection: Connection,
  p: { topic: Topic; topicName: string; partition: number; record: StoredRecord },
): LogRecord | undefined {
  try {
    return decodeTopicRecord(p.topic, { ...p, offset: p.record.offset }, p.record);
  } catch (error) {
    if (!(error instanceof PortError) || error.code !== 'record_unreadable') throw error;
    connection.notice(error.message);
    return undefined;
  }
}

/** Committed records of a partition from its first to its end as it was when the reading began. */
async function* recordsOf(
  connection: Connection,
  p: { topicName: string; partition: number; from?: number },
): AsyncGenerator<StoredRecord, undefined> {
  const { topicName: topic, partition } = p;
  let end: number | undefined;
  let moved = Date.now();
  let waitMs = 0;
  for (let next = p.from ?? 0; end === undefined || next < end; ) {
    const [slice] = await readSlices(connection, { places: [{ topic, partition, offset: next }], waitMs });
    assert(slice !== undefined, 'every place has its slice');
    if (!Number.isNaN(slice.end)) end ??= slice.end;
    yield* slice.records;
    if (slice.next > next) {
      moved = Date.now();
      waitMs = 0;
    } else if (end === undefined || next < end) {
      if (Date.now() - moved > ENDING_MS) throw notEnding(topic, partition);
      waitMs = WAIT_MS;
      await pause(1);
    }
    next = slice.next;
  }
  return undefined;
}

function notEnding(topic: string, partition: number): Error {
  return logError({
    code: 'busy',
    message: `A step that writes to "${topic}", partition ${partition}, is not ended by the broker. Try again; if this stays, look at the broker's transactions.`,
    retryable: true,
  });
}

/** Counts the records that a group has still to deal with. */
export type Counter = (p: {
  topic: Topic;
  partition: number;
  /** Offset of the first of them. */
  from: number;
}) => Promise<number>;

/**
 * A {@link Counter} that remembers the offsets it has seen: a partition holds markers beside its records, so the
 * difference of two offsets is no count, and only the first call has to read what waits.
 */
export function createCounter(connection: Connection): Counter {
  const seen = new Map<string, { from: number; next: number; offsets: number[] }>();
  return async ({ topic, partition, from }) => {
    const topicName = connection.topicName(topic);
    const name = `${topicName}/${partition}`;
    let known = seen.get(name);
    if (known === undefined || from < known.from) {
      known = { from, next: from, offsets: [] };
      seen.set(name, known);
    }
    for await (const { offset } of recordsOf(connection, { topicName, partition, from: known.next })) {
      if (offset < known.next) continue;
      known.offsets.push(offset);
      known.next = offset + 1;
    }
    return known.offsets.reduce((count, offset) => count + (offset >= from ? 1 : 0), 0);
  };
}
