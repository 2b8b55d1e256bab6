import { randomBytes } from 'node:crypto';
import { writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { Kafka, logLevel } from 'kafkajs';
import { run } from './cache.ts';
import { kafkaJars } from './kafka-jars.ts';
import { freePorts, type ServerProcess, startServer } from './server-process.ts';

/** A running broker, and a way to stop and start it over the same data. */
export type Broker = ServerProcess & { readonly address: string; start(): Promise<void> };

/** Starts one broker that is its own controller, with its data in `folder`. */
export async function startKafka(folder: string): Promise<Broker> {
  const classpath = join(await kafkaJars(), '*');
  const [port = 0, controllerPort = 0] = await freePorts(2);
  const config = join(folder, 'server.properties');
  await writeFile(config, properties({ folder, port, controllerPort }));
  const clusterId = randomBytes(16).toString('base64url');
  await run('java', ['-cp', classpath, 'kafka.tools.StorageTool', 'format', '-t', clusterId, '-c', config]);
  const address = `127.0.0.1:${port}`;
  const launch = () =>
    startServer({
      command: 'java',
      args: ['-Xmx512m', '-XX:+UseSerialGC', '-cp', classpath, 'kafka.Kafka', config],
      logPath: join(folder, 'broker.log'),
      isReady: () => answers(address),
    });
  let server = await launch();
  return {
    address,
    stop: () => server.stop(),
    kill: () => server.kill(),
    start: async () => {
      server = await launch();
    },
  };
}

function properties(p: { folder: string; port: number; controllerPort: number }): string {
  return [
    'process.roles=broker,controller',
    'node.id=1',
    `listeners=PLAINTEXT://127.0.0.1:${p.port},CONTROLLER://127.0.0.1:${p.controllerPort}`,
    `advertised.listeners=PLAINTEXT://127.0.0.1:${p.port}`,
    'controller.listener.names=CONTROLLER',
    `controller.quorum.voters=1@127.0.0.1:${p.controllerPort}`,
    `log.dirs=${join(p.folder, 'data')}`,
    'offsets.topic.replication.factor=1',
    'offsets.topic.num.partitions=4',
    'transaction.state.log.replication.factor=1',
    'transaction.state.log.num.partitions=4',
    'transaction.state.log.min.isr=1',
    'group.initial.rebalance.delay.ms=0',
    'auto.create.topics.enable=false',
    '',
  ].join('\n');
}

async function answers(address: string): Promise<boolean> {
  const admin = new Kafka({
    brokers: [address],
    logLevel: logLevel.NOTHING,
    retry: { retries: 0 },
    connectionTimeout: 1000,
  }).admin();
  try {
    await admin.connect();
    return (await admin.describeCluster()).brokers.length > 0;
  } finally {
    await admin.disconnect();
  }
}
