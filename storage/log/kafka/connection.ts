import { randomUUID } from 'node:crypto';
import { type Admin, type Cluster, Kafka, type KafkaConfig, logLevel, Partitioners, type Producer } from 'kafkajs';
import { assert } from '../../../schemas/assert.ts';
import type { Topic } from '../port.ts';
import { asLogError, isClientError, logError, protocolType } from './errors.ts';
import { pause } from './pause.ts';
import type { KafkaSettings } from './settings.ts';
import { stateTopicConfig, topicConfig } from './topic-config.ts';

const TOPICS = ['samples', 'findings', 'verdicts', 'dead_letters'] as const satisfies readonly Topic[];
const DEFAULT_TRANSACTION_TIMEOUT_MS = 15_000;
/** A busy transaction coordinator answers within milliseconds; the client's own first pause is 300 ms. */
const RETRY = { initialRetryTime: 25, maxRetryTime: 1000, retries: 10 };

const NEW_TOPIC_MS = 30_000;
const NEW_TOPIC_PAUSE_MS = 50;

/** Everything of the broker that the rest of the adapter works with. */
export type Connection = {
  readonly settings: KafkaSettings;
  readonly transactionTimeoutMs: number;
  readonly kafka: Kafka;
  /** The client's view of the cluster, for reading partitions directly. */
  readonly cluster: Cluster;
  readonly partitions: number;
  /**
   * Lets one read of a broker follow the other. A broker answers the reads of a connection in order anyway, and of reads
   * that begin at once the client would open a connection each, of which it closes but the last.
   */
  fetchInTurn<T>(nodeId: string, fetch: () => Promise<T>): Promise<T>;
  topicName(topic: Topic): string;
  groupName(group: string): string;
  /** Name of the compacted topic of a group's states, which is made when it is not there. */
  stateTopic(group: string): Promise<string>;
  /** The partition that all records and states of a key are in. */
  partitionOf(key: string): number;
  /** A new connected producer with a transactional id of its own, or the one given. */
  createProducer(transactionalId?: string): Promise<{ readonly producer: Producer; readonly transactionalId: string }>;
  /** Offsets of the first records that are still kept, by partition. */
  firstOffsets(topicName: string, partitions: readonly number[]): Promise<ReadonlyMap<number, number>>;
  notice(sentence: string): void;
  close(): Promise<void>;
};

/** Connects, and makes the topics that are missing. @throws PortError when that cannot be done. */
export async function connect(settings: KafkaSettings): Promise<Connection> {
  const transactionTimeoutMs = settings.transactionTimeoutMs ?? DEFAULT_TRANSACTION_TIMEOUT_MS;
  const kafka = new Kafka(clientConfig(settings));
  const admin = kafka.admin();
  const cluster = clusterOf(kafka, settings);
  const topicName = (topic: Topic) => `${settings.prefix}.${topic}`;
  try {
    await admin.connect();
    await cluster.connect();
    const partitions = await makeTopics(admin, settings, topicName);
    await onceKnown(() => cluster.addMultipleTargetTopics(TOPICS.map(topicName)));
    const stateTopics = createStateTopics({ admin, cluster, settings, partitions });
    const choose = Partitioners.DefaultPartitioner();
    // The partitioner hashes keys as Java clients do, so that their records of a unit lie in the same partition.
    const partitionMetadata = Array.from({ length: partitions }, (_, partitionId) => partition(partitionId));
    return {
      settings,
      transactionTimeoutMs,
      kafka,
      cluster,
      partitions,
      fetchInTurn: createTurns(),
      topicName,
      groupName: (group) => `${settings.prefix}.${group}`,
      stateTopic: stateTopics,
      partitionOf: (key) => choose({ topic: '', partitionMetadata, message: { key, value: null } }),
      createProducer: async (transactionalId = `${settings.prefix}.${randomUUID()}`) => {
        const producer = kafka.producer({
          transactionalId,
          idempotent: true,
          maxInFlightRequests: 1,
          transactionTimeout: transactionTimeoutMs,
          allowAutoTopicCreation: false,
          retry: RETRY,
        });
        await producer.connect();
        return { producer, transactionalId };
      },
      firstOffsets: async (name, wanted) => {
        const [found] = await cluster.fetchTopicsOffset([
          { topic: name, partitions: wanted.map((one) => ({ partition: one })), fromBeginning: true },
        ]);
        return new Map((found?.partitions ?? []).map((one) => [one.partition, Number(one.offset)]));
      },
      notice: (sentence) => settings.onNotice?.(sentence),
      close: async () => {
        await admin.disconnect();
        await cluster.disconnect();
      },
    };
  } catch (error) {
    await admin.disconnect().catch(ignoreClientError);
    await cluster.disconnect().catch(ignoreClientError);
    throw asLogError(`open the log at ${settings.brokers.join(', ')}`, error);
  }
}

/** For clean-up after an error that is already on its way: a second failure of the client adds nothing. */
export function ignoreClientError(error: unknown): void {
  if (!isClientError(error)) throw error;
}

function clientConfig(settings: KafkaSettings): KafkaConfig {
  const { tls, sasl } = settings;
  return {
    clientId: `${settings.prefix}-${process.pid}`,
    brokers: [...settings.brokers],
    // Every failure that matters is thrown; what the client mends by itself is not worth a line.
    logLevel: logLevel.NOTHING,
    retry: RETRY,
    ...(tls === undefined || tls === false ? {} : { ssl: tls === true ? true : { ca: [tls.ca] } }),
    ...(sasl === undefined ? {} : { sasl: sasl as NonNullable<KafkaConfig['sasl']> }),
  };
}

/**
 * The client gives its cluster to whoever assigns partitions, and this is the public way to it: a consumer that is never
 * run. Reading partitions directly needs no group, so that a page or a command can read at once.
 */
function clusterOf(kafka: Kafka, settings: KafkaSettings): Cluster {
  let found: Cluster | undefined;
  kafka.consumer({
    groupId: `${settings.prefix}.reader`,
    allowAutoTopicCreation: false,
    partitionAssigners: [
      ({ cluster }) => {
        found = cluster;
        return {
          name: 'none',
          version: 0,
          assign: async () => [],
          protocol: () => ({ name: 'none', metadata: Buffer.alloc(0) }),
        };
      },
    ],
  });
  assert(found !== undefined, 'the client asks its assigners at once');
  return found;
}

function createTurns(): Connection['fetchInTurn'] {
  const turns = new Map<string, Promise<unknown>>();
  return (nodeId, fetch) => {
    const own = (turns.get(nodeId) ?? Promise.resolve()).then(fetch);
    // The next one goes on whatever became of this one; its caller hears of it.
    turns.set(
      nodeId,
      own.catch(() => undefined),
    );
    return own;
  };
}

function partition(partitionId: number) {
  return { partitionErrorCode: 0, partitionId, leader: 0, replicas: [], isr: [] };
}

/** Makes missing topics and tells how many partitions all have. */
async function makeTopics(admin: Admin, settings: KafkaSettings, topicName: (topic: Topic) => string): Promise<number> {
  const { partitions, replicas } = settings;
  const existing = new Set(await admin.listTopics());
  const missing = TOPICS.filter((topic) => !existing.has(topicName(topic)));
  // Topics of one log have as many partitions as the first of them, whatever is asked for later.
  const known = TOPICS.find((topic) => existing.has(topicName(topic)));
  if (known === undefined && settings.isNew === 'refused') throw nothingThere(settings);
  const count = known === undefined ? partitions : await partitionCount(admin, topicName(known));
  if (missing.length > 0) {
    await admin.createTopics({
      waitForLeaders: false,
      topics: missing.map((topic) => ({
        topic: topicName(topic),
        numPartitions: count,
        replicationFactor: replicas,
        configEntries: topicConfig(topic, settings),
      })),
    });
  }
  for (const topic of TOPICS) {
    const found = await partitionCount(admin, topicName(topic));
    if (found !== count) throw partitionsDiffer(topicName(topic), found, count);
  }
  return count;
}

function createStateTopics(p: { admin: Admin; cluster: Cluster; settings: KafkaSettings; partitions: number }) {
  const known = new Map<string, Promise<string>>();
  const make = async (group: string) => {
    const topic = `${p.settings.prefix}.states.${group}`;
    const existing = await p.admin.listTopics();
    if (!existing.includes(topic)) {
      await p.admin.createTopics({
        waitForLeaders: false,
        topics: [
          {
            topic,
            numPartitions: p.partitions,
            replicationFactor: p.settings.replicas,
            configEntries: stateTopicConfig(p.settings),
          },
        ],
      });
    }
    const found = await partitionCount(p.admin, topic);
    if (found !== p.partitions) throw partitionsDiffer(topic, found, p.partitions);
    await onceKnown(() => p.cluster.addTargetTopic(topic));
    return topic;
  };
  return (group: string) => {
    assert(/^[A-Za-z0-9_-]{1,60}$/.test(group), 'a group has a plain name');
    const topic = known.get(group) ?? make(group);
    known.set(group, topic);
    topic.catch(() => known.delete(group));
    return topic;
  };
}

/** Number of partitions of a topic, once every one of them has a leader. */
async function partitionCount(admin: Admin, topic: string): Promise<number> {
  const { topics } = await onceKnown(() => admin.fetchTopicMetadata({ topics: [topic] }));
  return topics[0]?.partitions.length ?? 0;
}

/** A topic that was just made is unknown to some brokers for a moment; what is asked of it is asked again meanwhile. */
async function onceKnown<T>(ask: () => Promise<T>): Promise<T> {
  const until = Date.now() + NEW_TOPIC_MS;
  for (;;) {
    try {
      return await ask();
    } catch (error) {
      const isNew = ['UNKNOWN_TOPIC_OR_PARTITION', 'LEADER_NOT_AVAILABLE'].includes(protocolType(error) ?? '');
      if (!isNew || Date.now() > until) throw error;
      await pause(NEW_TOPIC_PAUSE_MS);
    }
  }
}

function nothingThere(settings: KafkaSettings): Error {
  return logError({
    code: 'missing',
    message: `The broker at ${settings.brokers.join(', ')} holds no log with the prefix "${settings.prefix}"; name the right one, or load files first with: chargeair load FILE`,
  });
}

function partitionsDiffer(topic: string, found: number, wanted: number): Error {
  return logError({
    code: 'foreign',
    message: `The topic "${topic}" has ${found} partitions, its siblings ${wanted}: records of one unit would not stay together. Name another prefix, or recreate the topics of this one with equal numbers.`,
  });
}
