import { assert } from '../../../schemas/assert.ts';
import { PortError } from '../../port-error.ts';
import type { Batch, LogRecord, Topic } from '../port.ts';
import type { Token } from './commit.ts';
import type { Connection } from './connection.ts';
import { pause } from './pause.ts';
import { type Place, readSlices, type StoredRecord } from './read-partition.ts';
import type { StateTable, StateTables } from './state-table.ts';
import { deadLetterOf, decodeTopicRecord } from './topic-record.ts';

/** Packed size at which a batch ends early; keeps the memory of every reader bounded. */
const MAX_BATCH_BYTES = 4 * 2 ** 20;
/** How long a poll that finds nothing waits for records whose step is just ending. */
const ENDING_MS = 2000;
const WAIT_MS = 20;

/** Records read ahead of one topic in one partition, between its table's position and `next`. */
type Ahead = { start: number; next: number; end: number; records: readonly StoredRecord[] };

/** Reads batches for one group. */
export type Poller = {
  poll(p: { topics: readonly Topic[]; max: number; partitions: readonly number[] }): Promise<Batch | undefined>;
  keepOnly(partitions: readonly number[]): void;
};

/**
 * @param p.passOver - Commits a step that puts an unreadable record among the dead letters and moves past it.
 */
export function createPoller(p: {
  connection: Connection;
  tables: StateTables;
  group: string;
  passOver: (token: Token, letter: ReturnType<typeof deadLetterOf>) => Promise<void>;
}): Poller {
  const { connection, tables, group } = p;
  const aheads = new Map<string, Ahead>();
  let turn = 0;

  const aheadOf = (topic: Topic, table: StateTable): Ahead => {
    const name = `${topic}/${table.partition}`;
    const position = table.positions.get(topic) ?? 0;
    let ahead = aheads.get(name);
    if (ahead === undefined || position < ahead.start || position > ahead.next) {
      ahead = { start: position, next: position, end: Number.POSITIVE_INFINITY, records: [] };
      aheads.set(name, ahead);
    } else if (position > ahead.start) {
      ahead.start = position;
      ahead.records = ahead.records.filter(({ offset }) => offset >= position);
    }
    return ahead;
  };

  /** Reads on where nothing is at hand; with nothing anywhere, until the ends of the partitions as they were. */
  async function fill(topics: readonly Topic[], owned: readonly StateTable[]): Promise<void> {
    const until = Date.now() + ENDING_MS;
    const ends = new Map<Ahead, number>();
    for (let waitMs = 0; ; waitMs = WAIT_MS) {
      const all = owned.flatMap((table) => topics.map((topic) => ({ topic, table, ahead: aheadOf(topic, table) })));
      const dry = all.filter(({ ahead }) => ahead.records.length === 0 && ahead.next < (ends.get(ahead) ?? Infinity));
      const isAnyThere = all.some(({ ahead }) => ahead.records.length > 0);
      if (dry.length === 0 || (waitMs > 0 && (isAnyThere || Date.now() > until))) return;
      const places = dry.map(
        ({ topic, table, ahead }): Place => ({
          topic: connection.topicName(topic),
          partition: table.partition,
          offset: ahead.next,
        }),
      );
      const slices = await readSlices(connection, { places, waitMs });
      dry.forEach(({ ahead }, i) => {
        const slice = slices[i];
        assert(slice !== undefined, 'every place has its slice');
        if (!ends.has(ahead)) ends.set(ahead, slice.end);
        ahead.records = slice.records;
        ahead.next = Math.max(ahead.next, slice.next);
        ahead.end = slice.end;
      });
      if (waitMs > 0 && slices.every(({ records }) => records.length === 0)) await pause(1);
    }
  }

  async function batchOf(topics: readonly Topic[], table: StateTable, max: number): Promise<Batch | undefined> {
    const from = new Map(topics.map((topic) => [topic, table.positions.get(topic) ?? 0]));
    const to = new Map(from);
    const records: LogRecord[] = [];
    let bytes = 0;
    for (const { topic, record } of inOrder(topics, (one) => aheadOf(one, table).records)) {
      const size = record.value?.length ?? 0;
      if (records.length >= max || (records.length > 0 && bytes + size > MAX_BATCH_BYTES)) break;
      const place = { topicName: connection.topicName(topic), partition: table.partition, offset: record.offset };
      try {
        records.push(decodeTopicRecord(topic, place, record));
      } catch (error) {
        if (!(error instanceof PortError) || error.code !== 'record_unreadable') throw error;
        // Good records before it go first, so that the order stays; then it is passed over alone.
        if (records.length > 0) break;
        const passed: Token = { partition: table.partition, from, to: new Map([...from, [topic, record.offset + 1]]) };
        await p.passOver(passed, deadLetterOf({ topic, place, record, detail: error.message }));
        throw new PortError({
          port: 'log',
          code: error.code,
          message: `${error.message}. It is among the dead letters now; the records after it come next.`,
          retryable: true,
          cause: error,
        });
      }
      bytes += size;
      to.set(topic, record.offset + 1);
    }
    if (records.length === 0) return undefined;
    const token: Token = { partition: table.partition, from, to };
    return { records, position: { group, token } };
  }

  return {
    async poll({ topics: asked, max, partitions }) {
      assert(max >= 1 && asked.length > 0, 'a poll asks for at least one record of at least one topic');
      if (partitions.length === 0) return undefined;
      const topics = [...new Set(asked)];
      const owned = await tables.current({ group, partitions });
      await fill(topics, owned);
      // Partitions take turns, so that a unit with much to catch up on does not hold up the others.
      for (let i = 0; i < owned.length; i += 1) {
        const table = owned[(turn + i) % owned.length];
        assert(table !== undefined, 'the turn is one of the owned partitions');
        const batch = await batchOf(topics, table, max);
        if (batch === undefined) continue;
        turn = (turn + i + 1) % owned.length;
        return batch;
      }
      return undefined;
    },
    keepOnly(partitions) {
      for (const name of aheads.keys()) {
        if (!partitions.includes(Number(name.slice(name.indexOf('/') + 1)))) aheads.delete(name);
      }
    },
  };
}

/** The records of several topics by the times at which they were written; each topic's own order stays. */
function* inOrder(
  topics: readonly Topic[],
  recordsOf: (topic: Topic) => readonly StoredRecord[],
): Generator<{ readonly topic: Topic; readonly record: StoredRecord }> {
  const heads = topics.map((topic) => ({ topic, records: recordsOf(topic), at: 0 }));
  for (;;) {
    let first: (typeof heads)[number] | undefined;
    for (const head of heads) {
      const record = head.records[head.at];
      const best = first?.records[first.at];
      if (record !== undefined && (best === undefined || record.timestampMs < best.timestampMs)) first = head;
    }
    const record = first?.records[first.at];
    if (first === undefined || record === undefined) return;
    yield { topic: first.topic, record };
    first.at += 1;
  }
}
