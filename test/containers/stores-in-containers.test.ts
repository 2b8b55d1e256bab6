import { randomUUID } from 'node:crypto';
import { GenericContainer, type StartedTestContainer, Wait } from 'testcontainers';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openInfluxHistory } from '../../storage/history/influx.ts';
import { openKafkaLog } from '../../storage/log/kafka.ts';
import { collect } from '../contract/contract.ts';
import { ALWAYS, somePoints } from '../contract/history-points.ts';
import { drain, emitting, GROUP } from '../contract/log-steps.ts';
import { samples } from '../contract/records.ts';
import { freePorts } from '../services/server-process.ts';
import { containerOf } from './fleet-file.ts';

// The two images as docker-compose.fleet.yml sets them up, but for what names their neighbours.

describe('broker and database as the containers of a fleet have them', () => {
  const started: StartedTestContainer[] = [];
  afterAll(async () => {
    for (const container of started) await container.stop();
  });

  describe('Kafka', () => {
    let address = '';
    beforeAll(async () => {
      const { image, environment } = containerOf('kafka');
      const [port = 0] = await freePorts(1);
      address = `127.0.0.1:${port}`;
      started.push(
        await new GenericContainer(process.env['CHARGEAIR_KAFKA_IMAGE'] ?? image)
          .withEnvironment({
            ...environment,
            // The broker speaks to itself as well, and this machine's port is not to be reached from inside.
            KAFKA_LISTENERS: 'PLAINTEXT://:9092,INNER://:9094,CONTROLLER://:9093',
            KAFKA_ADVERTISED_LISTENERS: `PLAINTEXT://${address},INNER://localhost:9094`,
            KAFKA_LISTENER_SECURITY_PROTOCOL_MAP: 'PLAINTEXT:PLAINTEXT,INNER:PLAINTEXT,CONTROLLER:PLAINTEXT',
            KAFKA_INTER_BROKER_LISTENER_NAME: 'INNER',
            KAFKA_CONTROLLER_QUORUM_VOTERS: '1@localhost:9093',
          })
          .withExposedPorts({ container: 9092, host: port })
          .withWaitStrategy(Wait.forLogMessage(/Kafka Server started/))
          .withStartupTimeout(120_000)
          .start(),
      );
    });

    test('keeps what is committed for those who open the log anew', async () => {
      const settings = { brokers: [address], prefix: randomUUID().slice(0, 8), partitions: 3, replicas: 1 };
      const before = await openKafkaLog(settings);
      const records = [samples({ unit: 'u', mark: 1 }), samples({ unit: 'u', mark: 2 })];
      await before.commit(emitting(...records));
      await before.close();
      const after = await openKafkaLog(settings);
      expect(await drain(after, { topics: ['samples'], max: 10 })).toStrictEqual(records);
      expect(await after.lag({ group: GROUP, topics: ['samples'] })).toBe(0);
      await after.close();
    });
  });

  describe('InfluxDB', () => {
    const token = randomUUID();
    let url = '';
    beforeAll(async () => {
      const { image, environment } = containerOf('influxdb');
      const container = await new GenericContainer(process.env['CHARGEAIR_INFLUXDB_IMAGE'] ?? image)
        .withEnvironment({
          ...environment,
          DOCKER_INFLUXDB_INIT_PASSWORD: randomUUID(),
          DOCKER_INFLUXDB_INIT_ADMIN_TOKEN: token,
        })
        .withExposedPorts(8086)
        .withWaitStrategy(Wait.forHttp('/health', 8086).forStatusCode(200))
        .withStartupTimeout(120_000)
        .start();
      started.push(container);
      url = `http://127.0.0.1:${container.getMappedPort(8086)}`;
      await untilSetUp(url);
    });

    test('keeps what is written in the bucket that it was set up with', async () => {
      const history = await openInfluxHistory({ url, org: 'chargeair', bucket: 'chargeair', token });
      await history.write(somePoints(50));
      expect(await collect(history.points(ALWAYS))).toStrictEqual(somePoints(50));
      await history.close();
    });
  });
});

/** The image sets its server up while it already answers, and starts it once more. */
async function untilSetUp(url: string): Promise<void> {
  for (const until = Date.now() + 60_000; Date.now() < until; ) {
    const answer = await fetch(`${url}/api/v2/setup`).catch(() => undefined);
    if (answer?.ok === true && ((await answer.json()) as { allowed: boolean }).allowed === false) return;
    await new Promise((resolve) => setTimeout(resolve, 500));
  }
  throw new Error('the database was not set up');
}
