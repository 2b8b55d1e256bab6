import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { connectAsync, type MqttClient } from 'mqtt';
import { describe, expect, test } from 'vitest';
import { startMqtt } from '../../ingest/live/mqtt.ts';
import type { LogPort, Step } from '../../storage/log/port.ts';
import { startBroker } from './broker.ts';
import { blocksIn, lettersIn, rowsIn, takenIn, until } from './live-fleet.ts';
import { broker, cleanUp, folder, START_MS, sender, setUp } from './mqtt-setting.ts';

// What must hold is OASIS MQTT 3.1.1: 3.1.2.4 clean session, 3.3.1.1 DUP, 3.3.1.3 RETAIN, 4.3.2 quality of service 1,
// 4.6 order of acknowledgements. The broker is a real one. Readings are invented.

const samples = (second: number, unit = 'digger-1') =>
  JSON.stringify({
    version: 1,
    unit,
    samples: { t: [START_MS + second * 1000], signals: { engineSpeed: [800 + second] } },
  });
const send = (client: MqttClient, second: number) =>
  client.publishAsync('fleet/digger-1/samples', samples(second), { qos: 1 });
const taken = (log: LogPort, count: number) =>
  until(async () => (await takenIn(log, 'broker')) >= count, `${count} rows are durable`);
const expected = (count: number) => Array.from({ length: count }, (_, i) => `digger-1@${START_MS + i * 1000}`).sort();

describe('taking in from an MQTT broker', () => {
  test('what was sent while nobody listened is all received', async () => {
    const to = await broker();
    const { start, log, failures } = setUp();
    const first = await start(to);
    const client = await sender(to);
    await send(client, 0);
    await taken(log, 1);
    await first.stop();
    for (let second = 1; second < 200; second += 1) await send(client, second);
    const second = await start(to);
    await taken(log, 200);
    await second.stop();
    expect(await rowsIn(log)).toEqual(expected(200));
    expect(failures).toEqual([]);
  });

  test('nothing is acknowledged before it is durable; what was not is sent again and taken once', async () => {
    const to = await broker();
    let isHeld = true;
    const { start, log } = setUp((plain) => ({
      ...plain,
      commit: async (step: Step) => {
        while (isHeld) await new Promise((resolve) => setTimeout(resolve, 10));
        await plain.commit(step);
      },
    }));
    const running = await start(to);
    const client = await sender(to);
    for (let second = 0; second < 20; second += 1) await send(client, second);
    await new Promise((resolve) => setTimeout(resolve, 200));
    expect(to.acknowledged).toEqual([]);
    // The network fails before the disk is done: the broker must send all again, and all must be there once.
    to.cut();
    await new Promise((resolve) => setTimeout(resolve, 300));
    isHeld = false;
    await until(() => to.acknowledged.length >= 20, 'all are acknowledged on the new connection');
    await running.stop();
    expect(await rowsIn(log)).toEqual(expected(20));
  });

  test('acknowledgements come in the order of the messages, many under way at once', async () => {
    const to = await broker();
    const { start, log } = setUp();
    const running = await start(to);
    const client = await sender(to);
    await Promise.all(Array.from({ length: 500 }, (_, second) => send(client, second)));
    await taken(log, 500);
    await until(() => to.acknowledged.length >= 500, 'all are acknowledged');
    expect(to.acknowledged).toEqual(to.delivered);
    await running.stop();
    expect(await rowsIn(log)).toEqual(expected(500));
  });

  test('a broker that is restarted is found again, and nothing is lost', async () => {
    const first = await startBroker();
    const { start, log, said } = setUp();
    const running = await start(first);
    const one = await sender(first);
    for (let second = 0; second < 10; second += 1) await send(one, second);
    await taken(log, 10);
    await one.endAsync(true);
    await first.stop();
    await until(() => said.some((line) => line.includes('trying again')), 'the loss is noticed');
    await new Promise((resolve) => setTimeout(resolve, 400));
    const count = said.filter((line) => line.includes('connected to')).length;
    const second = await broker({ port: first.port });
    await until(() => said.filter((line) => line.includes('connected to')).length > count, 'it connects again');
    const two = await sender(second);
    for (let i = 10; i < 20; i += 1) await send(two, i);
    await taken(log, 20);
    await running.stop();
    expect(await rowsIn(log)).toEqual(expected(20));
  });

  test('the same message again is harmless', async () => {
    const to = await broker();
    const { start, log } = setUp();
    const running = await start(to);
    const client = await sender(to);
    for (let i = 0; i < 5; i += 1)
      await client.publishAsync('fleet/digger-1/samples', samples(0), { qos: 1, dup: i > 0 });
    await until(() => to.acknowledged.length >= 5, 'all are acknowledged');
    await running.stop();
    expect(await rowsIn(log)).toEqual(expected(1));
  });

  test('payloads that cannot be read become dead letters, are acknowledged, and hold nothing up', async () => {
    const to = await broker();
    const { start, log } = setUp();
    const running = await start(to);
    const client = await sender(to);
    const bad = [
      ['fleet/digger-1/samples', 'no JSON', 'record_unreadable'],
      ['fleet/digger-1/samples', Buffer.from([0xff, 0xfe, 0x00]), 'encoding_unreadable'],
      ['fleet/digger-1/samples', '{"version":7,"unit":"digger-1"}', 'version_unknown'],
      ['fleet/digger-1/samples', samples(0, 'digger-2'), 'unit_not_in_fleet'],
      ['fleet/digger-9/oilPressure', '300', 'unit_not_in_fleet'],
      ['fleet/digger-1/oilPresure', '300', 'signal_unknown'],
      ['fleet/digger-1/oilPressure', 'NaN', 'record_unreadable'],
      ['fleet/digger-1/oilPressure', '99999', 'value_out_of_range'],
      ['fleet/digger-1/oilPressure', '{"t":"2099-01-01T00:00:00Z","value":1}', 'clock_ahead'],
      ['fleet/digger-1/oilPressure', '', 'record_unreadable'],
    ] as const;
    for (const [topic, payload] of bad) await client.publishAsync(topic, payload, { qos: 1 });
    await send(client, 0);
    await until(() => to.acknowledged.length >= bad.length + 1, 'all are acknowledged');
    await running.stop();
    expect((await lettersIn(log)).map(({ source, code }) => [source, code])).toEqual(
      bad.map(([topic, , code]) => [topic, code]),
    );
    expect(await rowsIn(log)).toEqual(expected(1));
  });

  test('single signals meet in one row, in canonical units', async () => {
    const to = await broker();
    const { start, log } = setUp();
    const running = await start(to);
    const client = await sender(to);
    const readings = [
      ['boostPressure', { t: START_MS + 120, value: 1.5 }],
      ['oilPressure', { t: START_MS + 480, value: 3, unit: 'bar' }],
      ['engineSpeed', { t: new Date(START_MS + 900).toISOString(), value: 1500 }],
      ['engineSpeed', { t: START_MS + 950, value: 1510 }],
    ] as const;
    for (const [signal, reading] of readings) {
      await client.publishAsync(`fleet/digger-1/${signal}`, JSON.stringify(reading), { qos: 1 });
    }
    await until(() => to.acknowledged.length >= 4, 'all are acknowledged');
    await running.stop();
    // 1 bar = 100 kPa (BIPM, SI brochure, table 8); of two values of one second the first stays.
    expect(await blocksIn(log)).toMatchObject([
      { t: [START_MS], signals: { boostPressure: [150], oilPressure: [300], engineSpeed: [1500] } },
    ]);
  });

  test('a retained value is taken once by its time, and left alone when it has none', async () => {
    const to = await broker();
    const client = await sender(to);
    await client.publishAsync('fleet/digger-1/oilPressure', '300', { qos: 1, retain: true });
    await client.publishAsync('fleet/digger-1/engineSpeed', JSON.stringify({ t: START_MS, value: 900 }), {
      qos: 1,
      retain: true,
    });
    const { start, log } = setUp();
    for (let i = 1; i <= 2; i += 1) {
      const running = await start(to);
      await until(() => to.acknowledged.length >= 2 * i, 'both are acknowledged');
      await running.stop();
    }
    expect(await blocksIn(log)).toMatchObject([{ t: [START_MS], signals: { engineSpeed: [900] } }]);
    expect(await lettersIn(log)).toEqual([]);
  });

  test('the status topic says whether we are there, also when we vanish', async () => {
    const to = await broker();
    const client = await sender(to);
    const heard: string[] = [];
    client.on('message', (_topic, payload) => heard.push(payload.toString()));
    await client.subscribeAsync('status/engine-room', { qos: 1 });
    const { start } = setUp();
    const running = await start(to, { statusTopic: 'status/engine-room' });
    await until(() => heard.includes('online'), 'it says that it is there');
    to.cutClient('chargeair-broker');
    await until(() => heard.join() === 'online,offline,online', 'its will is heard, and that it is back');
    await running.stop();
    await until(() => heard.join() === 'online,offline,online,offline', 'it says that it goes');
  });

  test('a login that is refused is said, and tried again until it is right', async () => {
    writeFileSync(join(folder, 'password.txt'), 'wrong\n');
    let password = 'right';
    const to = await broker({
      options: {
        authenticate: (_client, user, given, done) => {
          done(null, user === 'ship' && given?.toString() === password);
        },
      },
    });
    const { start, said, log } = setUp();
    const running = start(to, { user: 'ship', passwordFile: 'password.txt' });
    await until(() => said.filter((line) => line.includes('trying again')).length >= 2, 'it is refused twice');
    expect(said.join()).not.toContain('wrong');
    password = 'wrong';
    await (await running).stop();
    expect(await rowsIn(log)).toEqual([]);
  });

  test('over TLS only a broker whose certificate the named authority has signed is talked to', async () => {
    const to = await broker({ isSecret: true });
    const certificates = fileURLToPath(new URL('./certificates/', import.meta.url));
    const wrong = setUp();
    const refused = await startMqtt({
      ...wrong,
      source: {
        id: 'broker',
        url: to.url,
        topics: [{ pattern: '{unit}' }],
        caFile: join(certificates, 'other-authority.pem'),
      },
      firstPauseMs: 50,
    });
    await until(() => wrong.said.some((line) => line.includes('trying again')), 'it is refused');
    await refused.stop();
    expect(wrong.said.some((line) => line.includes('connected to'))).toBe(false);
    const { start, log } = setUp();
    const running = await start(to, { caFile: join(certificates, 'authority.pem') });
    const client = await connectAsync(to.url, { ca: readFileSync(join(certificates, 'authority.pem')) });
    cleanUp.push(() => client.endAsync(true));
    await send(client, 0);
    await taken(log, 1);
    await running.stop();
  });
});
