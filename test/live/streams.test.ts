import { PassThrough } from 'node:stream';
import { afterEach, describe, expect, test } from 'vitest';
import { type WebSocket, WebSocketServer } from 'ws';
import { parse } from 'yaml';
import { startCandumpPipe } from '../../ingest/live/candump-pipe.ts';
import { startSignalkStream } from '../../ingest/live/signalk-stream.ts';
import type { J1939Rule } from '../../schemas/source-rule.ts';
import { blocksIn, FLEET_YAML, lettersIn, liveFolder, liveSetting, testFleet, until } from './live-fleet.ts';

const folder = liveFolder();
const fleet = testFleet(parse(FLEET_YAML));
const busRule = fleet.sources.find(({ id }) => id === 'bus') as J1939Rule;
const START_S = Date.UTC(2026, 2, 1, 6) / 1000;
const cleanUp: (() => Promise<unknown>)[] = [];
let logs = 0;

afterEach(async () => {
  for (const step of cleanUp.splice(0).reverse()) await step();
});

function setUp() {
  logs += 1;
  const setting = liveSetting({ fleet, folder, name: `stream-${logs}` });
  cleanUp.push(() => setting.log.close());
  return setting;
}

// SAE J1939-71: PGN 61444 (EEC1), engine speed SPN 190 in bytes 4 and 5, 0.125 rpm a bit; 1500 rpm are 0x2EE0.
const frame = (second: number, rpm = 1500) => {
  const raw = rpm / 0.125;
  const hex = (byte: number) => byte.toString(16).padStart(2, '0').toUpperCase();
  return `(${(START_S + second).toFixed(6)}) can0 0CF00400#FFFFFF${hex(raw & 0xff)}${hex(raw >> 8)}FFFFFF\n`;
};

describe('a CAN interface on a pipe', () => {
  test('whole seconds are means, whatever the bytes are cut into', async () => {
    const setting = setUp();
    const input = new PassThrough();
    const pipe = startCandumpPipe({ ...setting, input, rule: busRule });
    const text = [0, 0.2, 0.4, 1, 1.5, 2].map((second, i) => frame(second, 1000 + 100 * i)).join('');
    for (let at = 0; at < text.length; at += 7) input.write(text.slice(at, at + 7));
    input.end();
    await pipe.ended;
    const blocks = await blocksIn(setting.log);
    expect(blocks.flatMap(({ t }) => t.map((ms) => ms / 1000 - START_S))).toEqual([0, 1, 2]);
    expect(blocks.flatMap(({ signals }) => signals.engineSpeed)).toEqual([1100, 1350, 1500]);
    expect(blocks[0]).toMatchObject({ unit: 'digger-1', source: 'bus-live' });
  });

  test('a writer that sends a byte now and then holds nobody up, and its last second comes in', async () => {
    const setting = setUp();
    const slow = new PassThrough();
    const pipe = startCandumpPipe({ ...setting, input: slow, rule: busRule });
    const other = new PassThrough();
    const rule = { ...busRule, id: 'bus-2', unit: 'digger-2' };
    const quick = startCandumpPipe({ ...setting, input: other, rule });
    const line = frame(0, 1600);
    let at = 0;
    const timer = setInterval(() => {
      if (at < line.length) slow.write(line[at]);
      at += 1;
    }, 30);
    for (let second = 0; second < 100; second += 1) other.write(frame(second));
    other.end();
    await quick.ended;
    expect(at).toBeLessThan(line.length);
    expect((await blocksIn(setting.log)).flatMap(({ unit, t }) => (unit === 'digger-2' ? t : []))).toHaveLength(100);
    await until(() => at > line.length, 'the slow line is whole');
    await pipe.stop();
    clearInterval(timer);
    const speeds = (await blocksIn(setting.log))
      .filter(({ unit }) => unit === 'digger-1')
      .map(({ signals }) => signals.engineSpeed);
    expect(speeds).toEqual([[1600]]);
  });

  test('lines that are no frames become dead letters', async () => {
    const setting = setUp();
    const input = new PassThrough();
    const pipe = startCandumpPipe({ ...setting, input, rule: busRule });
    input.end(`${frame(0)}no frame\n${'x'.repeat(200_000)}\n${frame(1)}`);
    await pipe.ended;
    expect((await lettersIn(setting.log)).map(({ code }) => code)).toEqual(
      expect.arrayContaining(['frame_unreadable']),
    );
    expect((await blocksIn(setting.log)).flatMap(({ t }) => t)).toHaveLength(2);
  });
});

// Signal K 1.7: hello and delta messages; propulsion.*.revolutions in Hz, pressures in Pa, times in ISO 8601 UTC.
const HELLO = {
  name: 'test',
  version: '1.7.0',
  timestamp: '2026-03-01T06:00:00Z',
  self: 'vessels.urn:x',
  roles: ['master', 'main'],
};
const delta = (second: number, values: Record<string, number>) =>
  JSON.stringify({
    context: 'vessels.urn:x',
    updates: [
      {
        $source: 'engine.0',
        timestamp: new Date((START_S + second) * 1000).toISOString(),
        values: Object.entries(values).map(([path, value]) => ({ path, value })),
      },
    ],
  });

describe('a Signal K server', () => {
  test('deltas of the stream are taken in by units; a lost server is found again and asked again', async () => {
    const setting = setUp();
    const asked: { context: string; subscribe: { path: string }[] }[] = [];
    const clients: WebSocket[] = [];
    const serve = async (port: number) => {
      const server = new WebSocketServer({ host: '127.0.0.1', port });
      server.on('connection', (socket) => {
        clients.push(socket);
        socket.on('message', (data: Buffer) => asked.push(JSON.parse(data.toString())));
        socket.send(JSON.stringify(HELLO));
      });
      await new Promise((resolve) => server.on('listening', resolve));
      const address = server.address();
      return { server, port: typeof address === 'object' && address !== null ? address.port : 0 };
    };
    const first = await serve(0);
    const source = { id: 'sk', url: `ws://127.0.0.1:${first.port}/signalk/v1/stream`, rule: 'boat' };
    const running = startSignalkStream({ ...setting, source, firstPauseMs: 50 });
    cleanUp.push(() => running.stop());
    await until(() => asked.length === 1, 'it asks for what it wants');
    expect(asked[0]?.subscribe.map(({ path }) => path)).toContain('propulsion.*');
    clients[0]?.send(delta(0, { 'propulsion.port.revolutions': 25, 'propulsion.port.boostPressure': 150_000 }));
    clients[0]?.send(delta(1, { 'propulsion.starboard.revolutions': 20 }));
    clients[0]?.send('no delta');
    for (const client of clients) client.terminate();
    await new Promise((resolve) => first.server.close(resolve));
    const second = await serve(first.port);
    cleanUp.push(() => new Promise((resolve) => second.server.close(resolve)));
    await until(() => asked.length === 2, 'it asks again');
    clients[1]?.send(delta(2, { 'propulsion.port.revolutions': 30 }));
    await new Promise((resolve) => setTimeout(resolve, 300));
    for (const client of clients) client.terminate();
    await running.stop();
    const rows = (await blocksIn(setting.log)).flatMap(({ unit, t, signals }) =>
      t.map((ms, i) => [unit, ms / 1000 - START_S, signals.engineSpeed?.[i], signals.boostPressure?.[i]]),
    );
    // 25 Hz are 1500 rpm, 20 Hz 1200, 30 Hz 1800; 150 000 Pa are 150 kPa.
    expect(rows.map((row) => row.map((cell) => cell ?? null)).sort((a, b) => Number(a[1]) - Number(b[1]))).toEqual([
      ['digger-1', 0, 1500, 150],
      ['digger-2', 1, 1200, null],
      ['digger-1', 2, 1800, null],
    ]);
    expect((await lettersIn(setting.log)).map(({ source: name }) => name)).toEqual(['sk']);
  });
});
