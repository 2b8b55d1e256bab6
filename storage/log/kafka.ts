import { commitStep } from './kafka/commit.ts';
import { connect } from './kafka/connection.ts';
import { decodeStateText } from './kafka/decode-state.ts';
import { logError } from './kafka/errors.ts';
import { joinGroup, type Membership } from './kafka/membership.ts';
import { createPoller, type Poller } from './kafka/poll.ts';
import { createProducers } from './kafka/producers.ts';
import { createCounter, scanTopic } from './kafka/scan.ts';
import type { KafkaSettings } from './kafka/settings.ts';
import { createStateTables } from './kafka/state-table.ts';
import type { LogPort, LogRecord, Step, StoredState } from './port.ts';

/**
 * The log in a Kafka cluster, for fleets that one process and one disk cannot serve.
 *
 * A topic for each kind of record and one, compacted, for the states of each group; all with equally many partitions, a
 * unit's records and states in the same one. A resolved commit is one ended transaction, kept by as many brokers as the
 * topics ask for; readers see ended transactions only. Workers of one group share the partitions out among themselves,
 * and a batch comes from one partition.
 *
 * Weaker than the embedded log, where the port leaves it open: offsets rise within a partition only; records of different
 * topics are told apart in time by the clocks of those who wrote them; `poll` gives what is in this worker's own share,
 * so that two openings of one group do not see the same batch; the first `poll` waits until the broker has shared out.
 * States are answered from memory, brought up to date by reading the end of their partition at every call: asking for a
 * key of a partition that this process has not read yet reads all states of that partition.
 *
 * @throws PortError when the broker cannot be used: `unreachable`, `forbidden`, `foreign`, `too_few_brokers`. The methods
 *   reject with the first two and with `fenced` (the broker closed the step), `busy`, `outcome_unknown`, `truncated`,
 *   `too_big`, `io`, `closed`, `record_unreadable` and `version_newer`.
 */
export async function openKafkaLog(settings: KafkaSettings): Promise<LogPort> {
  const connection = await connect(settings);
  const tables = createStateTables(connection);
  const producers = createProducers(connection);
  const count = createCounter(connection);
  const members = new Map<string, Promise<{ readonly membership: Membership; readonly poller: Poller }>>();
  const allPartitions = [...Array(connection.partitions).keys()];
  const underWay = new Set<Promise<unknown>>();
  let isClosed = false;

  /** Keeps what was begun in view, so that closing can wait for it. */
  async function during<T>(work: () => Promise<T>): Promise<T> {
    checkOpen();
    const own = work();
    underWay.add(own);
    try {
      return await own;
    } finally {
      underWay.delete(own);
    }
  }
  function checkOpen(): void {
    if (isClosed) throw logError({ code: 'closed', message: 'The log has been closed.' });
  }

  const commit = (step: Step) => commitStep({ connection, tables, producers }, step);

  async function join(group: string) {
    const poller = createPoller({
      connection,
      tables,
      group,
      passOver: (token, letter) => commit({ group, emit: [letter], state: [], position: { group, token } }),
    });
    const onShare = (partitions: readonly number[]) => {
      poller.keepOnly(partitions);
      tables.keepOnly({ group, partitions });
    };
    return { poller, membership: await joinGroup(connection, { group, onShare }) };
  }

  async function memberOf(group: string) {
    const known = members.get(group) ?? join(group);
    members.set(group, known);
    try {
      const member = await known;
      return { ...member, partitions: await member.membership.partitions() };
    } catch (error) {
      // The next poll joins anew.
      members.delete(group);
      known.then(({ membership }) => membership.leave()).catch(() => undefined);
      throw error;
    }
  }

  async function statesOf(group: string, keys: readonly string[]): Promise<ReadonlyMap<string, StoredState>> {
    const partitions = [...new Set(keys.map(connection.partitionOf))];
    const found = await tables.current({ group, partitions });
    const byPartition = new Map(found.map((table) => [table.partition, table]));
    const states = new Map<string, StoredState>();
    for (const key of keys) {
      const state = byPartition.get(connection.partitionOf(key))?.states.get(key);
      if (state?.text !== undefined) states.set(key, decodeStateText({ key, ...state, text: state.text }));
    }
    return states;
  }

  async function* allStates(group: string) {
    checkOpen();
    const found = await tables.current({ group, partitions: allPartitions });
    const all = found.flatMap(({ states }) => [...states]).sort(([a], [b]) => (a < b ? -1 : 1));
    for (const [key, { version, text }] of all) {
      if (text !== undefined) yield { key, state: decodeStateText({ key, version, text }) };
    }
  }

  return {
    poll: (p) =>
      during(async () => {
        const { poller, partitions } = await memberOf(p.group);
        return poller.poll({ ...p, partitions });
      }),
    commit: (step) => during(() => commit(step)),
    states: ({ group, keys }) => during(() => statesOf(group, keys)),
    allStates: ({ group }) => allStates(group),
    scan: (p) => {
      const records = scanTopic(connection, p);
      return openOnly(checkOpen, records) as AsyncIterable<Extract<LogRecord, { topic: typeof p.topic }>>;
    },
    lag: (p) =>
      during(async () => {
        const found = await tables.current({ group: p.group, partitions: allPartitions });
        const counts = [...new Set(p.topics)].flatMap((topic) =>
          found.map(({ partition, positions }) => count({ topic, partition, from: positions.get(topic) ?? 0 })),
        );
        return (await Promise.all(counts)).reduce((sum, one) => sum + one, 0);
      }),
    close: async () => {
      if (isClosed) return;
      isClosed = true;
      await Promise.allSettled([...underWay]);
      for (const member of await Promise.allSettled(members.values())) {
        if (member.status === 'fulfilled') await member.value.membership.leave();
      }
      await producers.close();
      await connection.close();
    },
  };
}

async function* openOnly<T>(checkOpen: () => void, records: AsyncIterable<T>): AsyncGenerator<T> {
  checkOpen();
  yield* records;
}
