import { connectAsync, type MqttClient } from 'mqtt';
import { afterEach } from 'vitest';
import { parse } from 'yaml';
import type { LiveSource } from '../../ingest/live/live-source.ts';
import { startMqtt } from '../../ingest/live/mqtt.ts';
import type { MqttSource } from '../../schemas/live-sources.ts';
import type { LogPort } from '../../storage/log/port.ts';
import { type Broker, startBroker } from './broker.ts';
import { FLEET_YAML, liveFolder, liveSetting, testFleet, until } from './live-fleet.ts';

/** Where logs and secrets of these tests lie. */
export const folder = liveFolder();
const fleet = testFleet(parse(FLEET_YAML));
/** Time of the first reading. */
export const START_MS = Date.UTC(2026, 2, 1, 6);
/** What is undone after each test, last first. */
export const cleanUp: (() => Promise<unknown>)[] = [];
let logs = 0;

afterEach(async () => {
  for (const step of cleanUp.splice(0).reverse()) await step();
});

/** A log, a way to start the source on it, and what it said. */
export function setUp(change: (log: LogPort) => LogPort = (log) => log) {
  logs += 1;
  const setting = liveSetting({ fleet, folder, name: `mqtt-${logs}` });
  cleanUp.push(() => setting.log.close());
  const source = (broker: Broker, more: Partial<MqttSource> = {}): MqttSource => ({
    id: 'broker',
    url: broker.url,
    topics: [
      { pattern: 'fleet/{unit}/samples' },
      { pattern: 'fleet/{unit}/{signal}', units: { boostPressure: 'bar' } },
    ],
    ...more,
  });
  const start = async (broker: Broker, more: Partial<MqttSource> = {}): Promise<LiveSource> => {
    const said = setting.said.length;
    const running = await startMqtt({
      ...setting,
      log: change(setting.log),
      source: source(broker, more),
      firstPauseMs: 50,
    });
    await until(() => setting.said.slice(said).some((line) => line.includes('connected')), 'it connects');
    return running;
  };
  return { ...setting, start };
}

/** A real broker that is stopped after the test. */
export async function broker(p: Parameters<typeof startBroker>[0] = {}): Promise<Broker> {
  const started = await startBroker(p);
  cleanUp.push(() => started.stop());
  return started;
}

/** A client of the broker that is ended after the test. */
export async function sender(to: Broker): Promise<MqttClient> {
  const client = await connectAsync(to.url, { reconnectPeriod: 0 });
  client.on('error', () => {});
  cleanUp.push(() => client.endAsync(true));
  return client;
}
