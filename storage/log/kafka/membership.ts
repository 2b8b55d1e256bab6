import type { Consumer } from 'kafkajs';
import type { Connection } from './connection.ts';
import { ignoreClientError } from './connection.ts';
import { asLogError, logError } from './errors.ts';

/** This process as one of the workers of a group. */
export type Membership = {
  /** The partitions that are this worker's now; waits while they are being shared out. */
  partitions(): Promise<readonly number[]>;
  leave(): Promise<void>;
};

const HEARTBEAT_MS = 1000;
/** A worker that says nothing for so long is counted out. Steps are worked out on the thread that sends heartbeats. */
const SESSION_MS = 20_000;
const REJOIN_MS = 30_000;
const IDLE_MS = 250;
/** How long a poll waits for its share before it says that it has none yet. */
const SHARE_WAIT_MS = 60_000;

type Share = { readonly partitions: readonly number[] } | { readonly failure: Error } | undefined;

/**
 * Joins a group for the sake of its share alone: the broker notices workers that come and go and gives each a part of
 * the partitions of the group's states; records of other topics in the partition of the same number go with them. What
 * the worker reads it reads itself, so the client's own reading stays paused.
 *
 * The share only divides the work. Two workers that for a while both hold a partition do no harm: of two steps over the
 * same records the broker's order of their writing lets one happen.
 *
 * @param p.onShare - Told of every new share.
 */
export async function joinGroup(
  connection: Connection,
  p: { group: string; onShare: (partitions: readonly number[]) => void },
): Promise<Membership> {
  const topic = await connection.stateTopic(p.group);
  let share: Share;
  let waiting: (() => void)[] = [];
  const settle = (next: Share) => {
    share = next;
    if (next === undefined) return;
    for (const wake of waiting) wake();
    waiting = [];
  };
  const consumer = connection.kafka.consumer({
    groupId: connection.groupName(p.group),
    allowAutoTopicCreation: false,
    heartbeatInterval: HEARTBEAT_MS,
    sessionTimeout: SESSION_MS,
    rebalanceTimeout: REJOIN_MS,
    maxWaitTimeInMs: IDLE_MS,
  });
  follow(consumer, { topic, settle, onShare: p.onShare });
  try {
    await consumer.connect();
    await consumer.subscribe({ topic });
    await consumer.run({ autoCommit: false, eachBatch: async () => {} });
  } catch (error) {
    await consumer.disconnect().catch(ignoreClientError);
    throw asLogError(`join the group "${p.group}"`, error);
  }
  return {
    async partitions() {
      const until = Date.now() + SHARE_WAIT_MS;
      while (share === undefined) {
        if (Date.now() > until) throw noShare(p.group);
        await new Promise<void>((resolve) => {
          const timer = setTimeout(resolve, IDLE_MS);
          waiting.push(() => {
            clearTimeout(timer);
            resolve();
          });
        });
      }
      if ('failure' in share) throw asLogError(`stay in the group "${p.group}"`, share.failure);
      return share.partitions;
    },
    leave: () => consumer.disconnect(),
  };
}

function follow(
  consumer: Consumer,
  p: { topic: string; settle: (share: Share) => void; onShare: (partitions: readonly number[]) => void },
): void {
  consumer.on(consumer.events.GROUP_JOIN, ({ payload }) => {
    // Before the first fetch: the client sends this event first.
    consumer.pause([{ topic: p.topic }]);
    const partitions = [...(payload.memberAssignment[p.topic] ?? [])].sort((a, b) => a - b);
    p.onShare(partitions);
    p.settle({ partitions });
  });
  consumer.on(consumer.events.REBALANCING, () => p.settle(undefined));
  consumer.on(consumer.events.CRASH, ({ payload }) =>
    p.settle(payload.restart ? undefined : { failure: payload.error }),
  );
}

function noShare(group: string): Error {
  return logError({
    code: 'busy',
    message: `The broker has not given this worker its share of the group "${group}" yet. It is tried again.`,
    retryable: true,
  });
}
