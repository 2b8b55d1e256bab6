// How fast blocks go through the log in Kafka, beside the bare client that moves the same bytes through the same broker.
// Needs a broker: CHARGEAIR_LOG=kafka://HOST:PORT/PREFIX npm run bench kafka
import { randomUUID } from 'node:crypto';
import { CompressionTypes, Kafka, logLevel } from 'kafkajs';
import { MAX_BLOCK_SAMPLES, type SampleBlock } from '../schemas/sample-block.ts';
import { SIGNAL_KEYS } from '../schemas/signals.ts';
import { encodeBlock } from '../storage/log/block-codec.ts';
import { parseKafkaUrl } from '../storage/log/kafka/settings.ts';
import { openKafkaLog } from '../storage/log/kafka.ts';

const BLOCKS = 480;
const BLOCKS_A_STEP = 16;
const COLUMNS = 18;
const UNITS = 12;
const ROUNDS = 3;

/** A block whose values move in steps of a tenth, as loggers write them. */
function block(index: number): SampleBlock {
  const t = Array.from(
    { length: MAX_BLOCK_SAMPLES },
    (_, i) => 1_700_000_000_000 + (index * MAX_BLOCK_SAMPLES + i) * 1000,
  );
  const columns = SIGNAL_KEYS.slice(0, COLUMNS).map((key, k) => [
    key,
    t.map((_, i) => (1000 + (((i * (k + 3) + index) * 7919) % 97)) / 10),
  ]);
  return { version: 1, unit: `truck-${index % UNITS}`, source: 'bench', t, signals: Object.fromEntries(columns) };
}

const settings = parseKafkaUrl(process.env['CHARGEAIR_LOG'] ?? '');
if (typeof settings === 'string') {
  process.stderr.write(`${settings} Set CHARGEAIR_LOG to the address of a broker.\n`);
  process.exit(2);
}
const blocks = Array.from({ length: BLOCKS }, (_, index) => block(index));
let packed: Buffer[] = [];
const packing = await seconds(async () => {
  packed = blocks.map((one) => Buffer.from(encodeBlock(one)));
});
const bytes = packed.reduce((sum, one) => sum + one.length, 0);
const steps = Array.from({ length: BLOCKS / BLOCKS_A_STEP }, (_, i) => i * BLOCKS_A_STEP);

/** How long some work takes. */
async function seconds(work: () => Promise<void>): Promise<number> {
  const from = performance.now();
  await work();
  return (performance.now() - from) / 1000;
}

/** The log: a step of 16 blocks is one transaction; each polled batch commits with a state of about 45 kB. */
async function throughLog(prefix: string): Promise<{ write: number; read: number; poll: number }> {
  const log = await openKafkaLog({ ...(settings as Exclude<typeof settings, string>), prefix });
  await log.commit({ group: 'ingest', emit: [], state: [{ key: 'warm', value: 1 }] });
  await log.poll({ group: 'analysis', topics: ['samples'], max: 1 });
  const write = await seconds(async () => {
    for (const at of steps) {
      const emit = blocks
        .slice(at, at + BLOCKS_A_STEP)
        .map((value) => ({ topic: 'samples' as const, key: value.unit, value }));
      await log.commit({ group: 'ingest', emit, state: [] });
    }
  });
  const state = { numbers: Array.from({ length: 2500 }, (_, i) => Math.sqrt(i)) };
  let count = 0;
  let poll = 0;
  const read = await seconds(async () => {
    for (;;) {
      const from = performance.now();
      const batch = await log.poll({ group: 'analysis', topics: ['samples'], max: BLOCKS_A_STEP });
      poll += (performance.now() - from) / 1000;
      if (batch === undefined) break;
      count += batch.records.length;
      const key = batch.records[0]?.key ?? '';
      await log.commit({ group: 'analysis', emit: [], state: [{ key, value: state }], position: batch.position });
    }
  });
  await log.close();
  if (count !== BLOCKS) throw new Error(`${count} of ${BLOCKS} blocks came back`);
  return { write, read, poll };
}

/** The bare client: the same bytes with every send confirmed, and a consumer that only counts them. */
async function throughClient(topic: string): Promise<{ write: number; read: number }> {
  const { brokers, partitions } = settings as Exclude<typeof settings, string>;
  const kafka = new Kafka({ brokers: [...brokers], logLevel: logLevel.NOTHING });
  const admin = kafka.admin();
  await admin.connect();
  await admin.createTopics({
    waitForLeaders: false,
    topics: [{ topic, numPartitions: partitions, replicationFactor: 1 }],
  });
  await new Promise((resolve) => setTimeout(resolve, 1000));
  await admin.disconnect();
  const producer = kafka.producer({ idempotent: true, maxInFlightRequests: 1 });
  await producer.connect();
  const write = await seconds(async () => {
    for (const at of steps) {
      const messages = packed
        .slice(at, at + BLOCKS_A_STEP)
        .map((value, i) => ({ key: `truck-${(at + i) % UNITS}`, value }));
      await producer.send({ topic, messages, acks: -1, compression: CompressionTypes.None });
    }
  });
  await producer.disconnect();
  const consumer = kafka.consumer({ groupId: topic });
  await consumer.connect();
  await consumer.subscribe({ topic, fromBeginning: true });
  let from = 0;
  let count = 0;
  let till = 0;
  await new Promise<void>((resolve, reject) => {
    // From the moment that it has its share, as the log's reading begins then, too.
    consumer.on(consumer.events.GROUP_JOIN, () => {
      from = performance.now();
    });
    consumer
      .run({
        eachBatch: async ({ batch }) => {
          count += batch.messages.length;
          till = performance.now();
          if (count === BLOCKS) resolve();
        },
      })
      .catch(reject);
  });
  await consumer.disconnect();
  return { write, read: (till - from) / 1000 };
}

const say = (what: string, log: number, bare: number) =>
  process.stdout.write(
    `${what}: ${(bytes / 1e6 / log).toFixed(1)} MB/s, ${(BLOCKS / log).toFixed(0)} blocks/s; bare client ${(bytes / 1e6 / bare).toFixed(1)} MB/s; ${(log / bare).toFixed(2)} times as long\n`,
  );
process.stdout.write(
  `${BLOCKS} blocks of ${MAX_BLOCK_SAMPLES} rows, ${(bytes / 1e6).toFixed(1)} MB packed, ${packing.toFixed(2)} s of packing alone\n`,
);
for (let round = 1; round <= ROUNDS; round += 1) {
  const name = randomUUID().slice(0, 8);
  const log = await throughLog(`bench-${name}`);
  const bare = await throughClient(`bench-bare-${name}`);
  say(`round ${round}, pack and commit`, log.write, bare.write);
  say(`round ${round}, poll and unpack`, log.poll, bare.read);
  say(`round ${round}, the same with a commit and a state after each batch`, log.read, bare.read);
}
