// A day of a fleet in accelerated time, through real sockets: every row that was sent must be accepted once, kept once,
// and the memory of the receiving process must not grow with what has passed through it.
// `npm run bench live-soak -- --scale 0.1`, or `tsx bench/live-soak.ts`. The receiver is a process of its own.
import { fork } from 'node:child_process';
import { once } from 'node:events';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { Aedes } from 'aedes';
import { connectAsync } from 'mqtt';
import { systemClock } from '../ingest/live/clock.ts';
import { startHttpPush } from '../ingest/live/http-push.ts';
import { startMqtt } from '../ingest/live/mqtt.ts';
import { makeToken } from '../ingest/live/push-tokens.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { columnsOf, messageOf, SOAK_KEYS } from './live-messages.ts';
import { type MemoryReading, memoryQuarters, memorySvg } from './live-plot.ts';

const { values: args } = parseArgs({
  options: {
    units: { type: 'string', default: '200' },
    hours: { type: 'string', default: '24' },
    scale: { type: 'string', default: '0.1' },
    rows: { type: 'string', default: '60' },
    senders: { type: 'string', default: '32' },
    receive: { type: 'string' },
    out: { type: 'string', default: 'bench/out' },
  },
});
const unitCount = Number(args.units);
const units = Array.from({ length: unitCount }, (_, i) => `unit-${i + 1}`);
const fleet = { units: units.map((id) => ({ id })), sources: [] } as unknown as FleetFile;

if (args.receive === undefined) await run();
else await receive(JSON.parse(args.receive) as Receiving);

type Receiving = { readonly folder: string; readonly brokerUrl?: string };

/** The receiving process: says its address and its memory, and ends when told. */
async function receive(p: Receiving): Promise<void> {
  const log = openSqliteLog({ path: join(p.folder, 'log.sqlite') });
  const setting = {
    log,
    fleet,
    clock: systemClock,
    baseFolder: p.folder,
    say: (sentence: string) => process.send?.({ said: sentence }),
    onFailure: (error: unknown) => {
      throw error;
    },
  };
  const source =
    p.brokerUrl === undefined
      ? await startHttpPush({
          ...setting,
          settings: { host: '127.0.0.1', port: 0, tokensFile: 'tokens.txt', sources: [{ id: 'gate' }] },
        })
      : await startMqtt({
          ...setting,
          source: { id: 'broker', url: p.brokerUrl, topics: [{ pattern: 'fleet/{unit}/samples' }] },
        });
  const beat = setInterval(
    () => process.send?.({ rssMiB: process.memoryUsage.rss() / 2 ** 20, cpu: process.cpuUsage() }),
    250,
  );
  process.send?.({ url: 'url' in source ? source.url : 'connected' });
  await once(process, 'message');
  await source.stop();
  clearInterval(beat);
  await log.close();
  process.disconnect();
}

type Receiver = {
  readonly url: string;
  readonly memory: MemoryReading[];
  readonly said: string[];
  cpuS(): number;
  stop(): Promise<void>;
};

async function startReceiver(p: Receiving): Promise<Receiver> {
  const child = fork(process.argv[1] ?? '', ['--units', String(unitCount), '--receive', JSON.stringify(p)]);
  const memory: MemoryReading[] = [];
  const said: string[] = [];
  const startedMs = performance.now();
  let cpu = { user: 0, system: 0 };
  const ended = once(child, 'exit').then(([code]) => {
    if (code !== 0) throw new Error(`the receiver ended with ${code}: ${said.slice(-5).join(' ')}`);
  });
  const url = await new Promise<string>((resolve, reject) => {
    ended.then(() => reject(new Error('the receiver ended early')), reject);
    child.on('message', (message: { url?: string; rssMiB?: number; said?: string; cpu?: typeof cpu }) => {
      if (message.url !== undefined) resolve(message.url);
      if (message.said !== undefined) said.push(message.said);
      if (message.cpu !== undefined) cpu = message.cpu;
      if (message.rssMiB !== undefined)
        memory.push({ atS: (performance.now() - startedMs) / 1000, rssMiB: message.rssMiB });
    });
  });
  return {
    url,
    memory,
    said,
    cpuS: () => (cpu.user + cpu.system) / 1e6,
    async stop() {
      child.send('stop');
      await ended;
    },
  };
}

async function run(): Promise<void> {
  const scale = Number(args.scale);
  const http = await soak('http', {
    seconds: Math.round(Number(args.hours) * 3600 * scale),
    units,
    rows: Number(args.rows),
  });
  const few = units.slice(0, Math.min(20, unitCount));
  const mqtt = await soak('mqtt', {
    seconds: Math.max(60, Math.round(Number(args.hours) * 360 * scale)),
    units: few,
    rows: 1,
  });
  if (!http || !mqtt) process.exitCode = 1;
}

type Plan = { readonly seconds: number; readonly units: readonly string[]; readonly rows: number };

async function soak(way: 'http' | 'mqtt', plan: Plan): Promise<boolean> {
  const folder = mkdtempSync(join(tmpdir(), 'bench-live-'));
  const { token, line } = makeToken('gate');
  writeFileSync(join(folder, 'tokens.txt'), `${line}\n`);
  const broker = way === 'mqtt' ? await startBroker() : undefined;
  const receiver = await startReceiver(broker === undefined ? { folder } : { folder, brokerUrl: broker.url });
  const startedMs = performance.now();
  const told =
    broker === undefined ? await pushAll(receiver.url, token, plan) : await publishAll(broker, receiver, plan);
  const elapsedS = (performance.now() - startedMs) / 1000;
  const cpuS = receiver.cpuS();
  await receiver.stop();
  await broker?.stop();
  const kept = await countKept(folder);
  rmSync(folder, { recursive: true, force: true });
  const sent = plan.seconds * plan.units.length;
  const print = (text: string) => process.stdout.write(`${way}: ${text}\n`);
  print(
    `${plan.units.length} units, ${plan.seconds} s each at 1 Hz, ${SOAK_KEYS.length} signals, ${plan.rows} rows a message: ${sent} rows`,
  );
  print(
    `accepted ${told.accepted}, sent again ${told.again} of which duplicates ${told.duplicates}, asked to wait ${told.waits} times`,
  );
  print(`kept ${kept.rows}, out of order or twice ${kept.disordered}`);
  print(
    `${elapsedS.toFixed(1)} s, ${Math.round(sent / elapsedS)} rows/s, ${Math.round(sent / plan.rows / elapsedS)} messages/s, ${Math.round(sent / elapsedS / plan.units.length)} times real time; receiver used ${cpuS.toFixed(1)} s of processor`,
  );
  for (const [i, { min, median, max }] of memoryQuarters(receiver.memory).entries()) {
    print(
      `memory in quarter ${i + 1}: ${min.toFixed(0)} / ${median.toFixed(0)} / ${max.toFixed(0)} MiB (lowest, middle, highest)`,
    );
  }
  mkdirSync(args.out, { recursive: true });
  writeFileSync(
    join(args.out, `live-soak-${way}.svg`),
    memorySvg(receiver.memory, `${way}: ${sent} rows in ${elapsedS.toFixed(0)} s`),
  );
  const holds = kept.rows === sent && kept.disordered === 0 && told.accepted === sent && told.duplicates === told.again;
  print(holds ? 'every row was accepted once and is kept once' : 'FAILED: rows were lost or doubled');
  return holds;
}

type Told = { accepted: number; duplicates: number; again: number; waits: number };

/** Pushes all messages, one in a hundred of them twice, with several senders at once. */
async function pushAll(url: string, token: string, plan: Plan): Promise<Told> {
  const columns = columnsOf(plan.rows);
  const told: Told = { accepted: 0, duplicates: 0, again: 0, waits: 0 };
  const headers = { authorization: `Bearer ${token}`, 'content-type': 'application/json' };
  const post = async (body: string): Promise<void> => {
    for (;;) {
      const response = await fetch(url, { method: 'POST', headers, body });
      const answer = (await response.json()) as { accepted: number; duplicates: number };
      if (response.status === 429) {
        told.waits += 1;
        await new Promise((resolve) => setTimeout(resolve, 100));
        continue;
      }
      if (response.status !== 200) throw new Error(JSON.stringify(answer));
      told.accepted += answer.accepted;
      told.duplicates += answer.duplicates;
      return;
    }
  };
  const count = Math.ceil(plan.seconds / plan.rows) * plan.units.length;
  const senders = Math.min(Number(args.senders), plan.units.length);
  // A unit has one sender, as a logger has: two would overtake one another, and rows would come late.
  const send = async (sender: number) => {
    for (let i = 0; i < count; i += 1) {
      if ((i % plan.units.length) % senders !== sender) continue;
      const fromS = Math.floor(i / plan.units.length) * plan.rows;
      const rows = Math.min(plan.rows, plan.seconds - fromS);
      const unit = plan.units[i % plan.units.length] ?? '';
      const some = rows === plan.rows ? (columns[i % columns.length] ?? '') : (columnsOf(rows)[0] ?? '');
      const body = messageOf({ unit, fromS, rows, columns: some });
      await post(body);
      if (i % 100 !== 0) continue;
      told.again += rows;
      await post(body);
    }
  };
  await Promise.all(Array.from({ length: senders }, (_, sender) => send(sender)));
  return told;
}

type Broker = { readonly url: string; readonly acknowledged: () => number; stop(): Promise<void> };

async function startBroker(): Promise<Broker> {
  const aedes = await Aedes.createBroker({ queueLimit: 1_000_000 });
  let acknowledged = 0;
  aedes.on('ack', () => {
    acknowledged += 1;
  });
  const server = createServer((socket) => aedes.handle(socket));
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  const address = server.address();
  return {
    url: `mqtt://127.0.0.1:${typeof address === 'object' && address !== null ? address.port : 0}`,
    acknowledged: () => acknowledged,
    async stop() {
      await new Promise<void>((resolve) => aedes.close(() => resolve()));
      server.close();
    },
  };
}

/** Publishes all messages, each acknowledged by the broker, and waits until the receiver has acknowledged them. */
async function publishAll(broker: Broker, receiver: Receiver, plan: Plan): Promise<Told> {
  while (!receiver.said.some((line) => line.includes('connected')))
    await new Promise((resolve) => setTimeout(resolve, 20));
  const client = await connectAsync(broker.url);
  const columns = columnsOf(plan.rows);
  for (let fromS = 0; fromS < plan.seconds; fromS += plan.rows) {
    await Promise.all(
      plan.units.map((unit, i) =>
        client.publishAsync(
          `fleet/${unit}/samples`,
          messageOf({ unit, fromS, rows: plan.rows, columns: columns[i % columns.length] ?? '' }),
          { qos: 1 },
        ),
      ),
    );
  }
  const sent = plan.units.length * plan.seconds;
  while (broker.acknowledged() * plan.rows < sent) await new Promise((resolve) => setTimeout(resolve, 20));
  await client.endAsync();
  return { accepted: sent, duplicates: 0, again: 0, waits: 0 };
}

/** Rows in the log, and how many of them do not rise in time within their unit. */
async function countKept(folder: string): Promise<{ rows: number; disordered: number }> {
  const log = openSqliteLog({ path: join(folder, 'log.sqlite') });
  const newest = new Map<string, number>();
  let rows = 0;
  let disordered = 0;
  for await (const { value } of log.scan({ topic: 'samples' })) {
    for (const timeMs of value.t) {
      rows += 1;
      if (timeMs <= (newest.get(value.unit) ?? -Infinity)) disordered += 1;
      else newest.set(value.unit, timeMs);
    }
  }
  await log.close();
  return { rows, disordered };
}
