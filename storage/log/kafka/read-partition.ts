import type { IHeaders } from 'kafkajs';
import type { Connection } from './connection.ts';
import { asLogError, isClientError, logError, protocolType } from './errors.ts';
import { pause } from './pause.ts';

/** A record as it lies in a partition. */
export type StoredRecord = {
  readonly offset: number;
  readonly timestampMs: number;
  readonly key: Buffer | null;
  readonly value: Buffer | null;
  readonly headers: IHeaders;
};

/** Where to read on in a partition. */
export type Place = { readonly topic: string; readonly partition: number; readonly offset: number };

/** What a read gave: the committed records from its place on, and where the partition stood. */
export type Slice = {
  readonly topic: string;
  readonly partition: number;
  readonly records: readonly StoredRecord[];
  /** Offset to read on from. */
  readonly next: number;
  /** Offset after the last record, committed or not. */
  readonly end: number;
};

const READ_COMMITTED = 1;
const SLICE_BYTES = 1024 * 1024;
const ANSWER_BYTES = 8 * 1024 * 1024;
/** How often a read that meets a moved partition or a broken connection is tried again before it is given up. */
const ATTEMPTS = 6;
const FIRST_PAUSE_MS = 50;

/**
 * Reads once from each place, at most a megabyte or the next batch of records, whichever is more.
 *
 * @param p.waitMs - How long the broker may wait for something to come when there is nothing at all.
 * @returns A slice for each place, in their order. Places before the first record that is kept are moved to it.
 */
export async function readSlices(
  connection: Connection,
  p: { places: readonly Place[]; waitMs: number },
): Promise<readonly Slice[]> {
  for (let attempt = 1; ; attempt += 1) {
    try {
      return await readOnce(connection, p);
    } catch (error) {
      if (protocolType(error) === 'OFFSET_OUT_OF_RANGE') {
        return readSlices(connection, { ...p, places: await firstKept(connection, p.places) });
      }
      if (!isClientError(error) || attempt >= ATTEMPTS) throw asLogError('read from the broker', error);
      await pause(FIRST_PAUSE_MS * 2 ** (attempt - 1));
      // A failed refresh shows again in the next attempt, which counts.
      await connection.cluster.refreshMetadata().catch((again: unknown) => {
        if (!isClientError(again)) throw again;
      });
    }
  }
}

/** Moves places that retention has passed by to the first record that is left, and says so. */
async function firstKept(connection: Connection, places: readonly Place[]): Promise<readonly Place[]> {
  const moved: Place[] = [];
  for (const place of places) {
    const first = (await connection.firstOffsets(place.topic, [place.partition])).get(place.partition) ?? 0;
    if (place.offset > 0 && place.offset < first) {
      connection.notice(
        `Records ${place.offset} to ${first - 1} of "${place.topic}", partition ${place.partition}, were deleted before they were read: keep records longer.`,
      );
    }
    if (place.offset < first) moved.push({ ...place, offset: first });
    else moved.push(place);
  }
  if (moved.every((place, i) => place.offset === places[i]?.offset)) {
    throw logError({
      code: 'truncated',
      message: `The broker has fewer records than this group has dealt with (${places.map(({ topic, partition, offset }) => `${topic}/${partition} at ${offset}`).join(', ')}): a topic was made anew or a broker lost data. Put back its data, or begin with another prefix.`,
    });
  }
  return moved;
}

type FetchedMessage = {
  readonly offset: string;
  readonly timestamp: string;
  readonly key: Buffer | null;
  readonly value: Buffer | null;
  readonly headers?: IHeaders;
  readonly isControlRecord?: boolean;
  readonly batchContext?: { readonly producerId: string; readonly inTransaction: boolean };
};
type FetchedPartition = {
  readonly partition: number;
  readonly highWatermark: string;
  readonly lastStableOffset: string;
  readonly abortedTransactions?: readonly { readonly producerId: string; readonly firstOffset: string }[];
  readonly messages: readonly FetchedMessage[];
};
type Fetched = {
  readonly responses: readonly { readonly topicName: string; readonly partitions: readonly FetchedPartition[] }[];
};

async function readOnce(
  { cluster, fetchInTurn }: Connection,
  p: { places: readonly Place[]; waitMs: number },
): Promise<readonly Slice[]> {
  const byLeader = new Map<string, Place[]>();
  for (const place of p.places) {
    const [leader] = Object.keys(cluster.findLeaderForPartitions(place.topic, [place.partition]));
    if (leader === undefined)
      throw logError({ code: 'unreachable', message: `"${place.topic}" has no partition ${place.partition}.` });
    byLeader.set(leader, [...(byLeader.get(leader) ?? []), place]);
  }
  const slices = await Promise.all(
    [...byLeader].map(async ([nodeId, places]) => {
      const broker = await cluster.findBroker({ nodeId });
      const request = {
        isolationLevel: READ_COMMITTED,
        maxWaitTime: p.waitMs,
        minBytes: 1,
        maxBytes: ANSWER_BYTES,
        topics: places.map(({ topic, partition, offset }) => ({
          topic,
          partitions: [{ partition, fetchOffset: String(offset), maxBytes: SLICE_BYTES }],
        })),
      };
      const answer: Fetched = await fetchInTurn(nodeId, () => broker.fetch(request));
      return answer.responses.flatMap(({ topicName, partitions }) =>
        partitions.map((one) => sliceOf(topicName, one, places)),
      );
    }),
  );
  const found = new Map(slices.flat().map((slice) => [`${slice.topic}/${slice.partition}`, slice]));
  return p.places.map(
    (place) =>
      found.get(`${place.topic}/${place.partition}`) ?? { ...place, records: [], next: place.offset, end: Number.NaN },
  );
}

function sliceOf(topic: string, fetched: FetchedPartition, places: readonly Place[]): Slice {
  const place = places.find((one) => one.topic === topic && one.partition === fetched.partition);
  const from = place?.offset ?? 0;
  const last = fetched.messages.at(-1);
  let next = last === undefined ? from : Math.max(from, Number(last.offset) + 1);
  // Compaction can leave batches that hold nothing any more; they are stepped over.
  if (next === from && Number(fetched.lastStableOffset) > from && fetched.messages.length === 0) next += 1;
  return {
    topic,
    partition: fetched.partition,
    records: committedOf(fetched)
      .filter((message) => Number(message.offset) >= from)
      .map((message) => ({
        offset: Number(message.offset),
        timestampMs: Number(message.timestamp),
        key: message.key,
        value: message.value,
        headers: message.headers ?? {},
      })),
    next,
    end: Number(fetched.highWatermark),
  };
}

/**
 * Leaves out markers and what belongs to a transaction that was given up. The broker names those by producer and first
 * offset, and their end is the producer's next abort marker, whose key ends in type 0:
 * https://kafka.apache.org/documentation/#controlbatch
 */
function committedOf(fetched: FetchedPartition): FetchedMessage[] {
  const aborted = [...(fetched.abortedTransactions ?? [])].sort(
    (a, b) => Number(a.firstOffset) - Number(b.firstOffset),
  );
  const open = new Set<string>();
  return fetched.messages.filter((message) => {
    while (aborted[0] !== undefined && Number(aborted[0].firstOffset) <= Number(message.offset)) {
      open.add(aborted[0].producerId);
      aborted.shift();
    }
    const producer = message.batchContext?.producerId ?? '';
    if (message.isControlRecord === true) {
      if (message.key?.readInt16BE(2) === 0) open.delete(producer);
      return false;
    }
    return !(message.batchContext?.inTransaction === true && open.has(producer));
  });
}
