// Rates of reading log files, each beside simpler work on the same bytes in the same run: on a shared machine the ratios
// say more than the rates. Rates are by processor time of this process, for others may be at work; the clock stands
// beside them. `npm run bench`, or `tsx bench/ingest.ts [rows]`.
import { closeSync, createReadStream, mkdtempSync, openSync, readFileSync, readSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { createInterface } from 'node:readline';
import { fileURLToPath } from 'node:url';
import { gunzipSync } from 'node:zlib';
import { parse } from 'csv-parse';
import { clockLimits } from '../ingest/checks.ts';
import { createDecoder } from '../ingest/formats/formats.ts';
import { loadFile } from '../ingest/load-file.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import type { SourceRule } from '../schemas/source-rule.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { BENCH_KEYS, writeBenchBusLog, writeBenchCsv } from './ingest-files.ts';
import { writeRepeatedLog } from './ingest-marine-files.ts';

const NOW_MS = Date.UTC(2026, 0, 1);
const UNIT = 'truck-1';
const rows = Number(process.argv[2] ?? 1_000_000);
const folder = mkdtempSync(join(tmpdir(), 'bench-ingest-'));

const csvRule: SourceRule = {
  id: 'bench-csv',
  files: '*.csv',
  format: 'csv_wide',
  unit: UNIT,
  delimiter: ',',
  decimal: '.',
  skipLines: 0,
  notAvailable: [],
  time: { column: 'time', format: 'iso8601' },
  columns: Object.fromEntries(BENCH_KEYS.map((key) => [key, { column: key }])),
};
const busRule: SourceRule = { id: 'bench-bus', files: '*.log', format: 'j1939_candump', unit: UNIT, sourceAddress: 0 };

/** Marine logs, each made of the lines of a real one; all engines of it are read as one unit here. */
const MARINE: readonly {
  readonly real: string;
  readonly rule: SourceRule;
  readonly pattern: RegExp;
  readonly time: (timeMs: number) => string;
}[] = [
  {
    real: 'n2k-many-sources/n2k-many-sources.raw.gz',
    rule: { id: 'n2k', files: '*.raw', format: 'n2k_frames', engines: { '11': UNIT }, sensors: [], leaveOut: [] },
    pattern: /^[^,]+/,
    time: (timeMs) => new Date(timeMs).toISOString(),
  },
  {
    real: 'n2k-engine-messages/fast-packet.log',
    rule: { id: 'packets', files: '*.log', format: 'n2k_candump', engines: { '0': UNIT }, sensors: [], leaveOut: [] },
    pattern: /^\([0-9.]+\)/,
    time: (timeMs) => `(${(timeMs / 1000).toFixed(6)})`,
  },
  {
    real: 'signalk-twin-diesel/signalk-twin-diesel.jsonl.gz',
    rule: {
      id: 'deltas',
      files: '*.jsonl',
      format: 'signalk_delta',
      engines: { '0': UNIT },
      senders: {},
      leaveOut: [],
    },
    pattern: /(?<="timestamp": ")[^"]+/,
    time: (timeMs) => new Date(timeMs).toISOString(),
  },
];

function realText(name: string): string {
  const bytes = readFileSync(join(dirname(fileURLToPath(import.meta.url)), '../test/data', name));
  return (name.endsWith('.gz') ? gunzipSync(bytes) : bytes).toString('latin1');
}

async function countJson(path: string): Promise<number> {
  let messages = 0;
  for await (const line of createInterface({ input: createReadStream(path) }))
    messages += JSON.parse(line) === null ? 0 : 1;
  return messages;
}

function eachChunk(path: string, use: (bytes: Uint8Array) => void): void {
  const file = openSync(path, 'r');
  const buffer = Buffer.alloc(256 * 1024);
  for (let read = readSync(file, buffer); read > 0; read = readSync(file, buffer)) use(buffer.subarray(0, read));
  closeSync(file);
}

async function countLines(path: string): Promise<number> {
  let lines = 0;
  for await (const line of createInterface({ input: createReadStream(path) })) lines += line.length > 0 ? 1 : 0;
  return lines;
}

async function parseWithLibrary(path: string): Promise<number> {
  let records = 0;
  for await (const _ of createReadStream(path).pipe(parse())) records += 1;
  return records;
}

function decode(path: string, rule: SourceRule): number {
  const decoder = createDecoder({ rule, unitIds: new Set([UNIT]), clock: clockLimits(NOW_MS) });
  let samples = 0;
  const count = (batches: ReturnType<typeof decoder.push>) => {
    for (const batch of batches) for (const item of batch.samples) samples += item.timesMs.length;
  };
  eachChunk(path, (bytes) => count(decoder.push(bytes)));
  count(decoder.finish());
  if (samples === 0) throw new Error(`${path} decodes to samples`);
  return decoder.standing().rowCount;
}

async function load(path: string, rule: SourceRule): Promise<number> {
  const log = openSqliteLog({ path: join(folder, `${rule.id}.db`) });
  const fleet = { units: [{ id: UNIT }], sources: [] } as unknown as FleetFile;
  const report = await loadFile({ path, fleet, log, nowMs: NOW_MS, rule });
  await log.close();
  if (report.accepted !== report.rows) throw new Error(`every row of ${path} is accepted`);
  return report.rows;
}

async function measure(
  path: string,
  name: string,
  work: () => number | Promise<number>,
  readMs: number | undefined,
): Promise<number> {
  const before = process.cpuUsage();
  const started = performance.now();
  const items = await work();
  const wallMs = performance.now() - started;
  const { user, system } = process.cpuUsage(before);
  const ms = (user + system) / 1000;
  const megabytes = statSync(path).size / 1e6;
  const ratio = readMs === undefined ? '' : `${(ms / readMs).toFixed(1)} x reading bytes`;
  console.log(
    `${name.padEnd(34)} ${(megabytes / (ms / 1000)).toFixed(0).padStart(6)} MB/s ${Math.round(items / (ms / 1000))
      .toLocaleString('en')
      .padStart(12)} /s  ${(wallMs / 1000).toFixed(2).padStart(6)} s by the clock  ${ratio}`,
  );
  return ms;
}

async function compare(
  path: string,
  rule: SourceRule,
  library?: { name: string; run: () => Promise<number> },
): Promise<void> {
  console.log(`\n${rule.format}: ${(statSync(path).size / 1e6).toFixed(0)} MB`);
  const readBytes = () => {
    let chunks = 0;
    eachChunk(path, () => {
      chunks += 1;
    });
    return chunks;
  };
  readBytes();
  const readMs = await measure(path, 'reading bytes (chunks/s)', readBytes, undefined);
  await measure(path, 'reading lines', () => countLines(path), readMs);
  if (library !== undefined) await measure(path, library.name, library.run, readMs);
  await measure(path, 'decoder to columns', () => decode(path, rule), readMs);
  await measure(path, 'decoder to columns, again', () => decode(path, rule), readMs);
  await measure(path, 'whole load into a SQLite log', () => load(path, rule), readMs);
}

try {
  const csv = join(folder, 'bench.csv');
  await writeBenchCsv(csv, rows);
  await compare(csv, csvRule, { name: 'csv-parse to arrays of text', run: () => parseWithLibrary(csv) });
  const bus = join(folder, 'bench.log');
  writeBenchBusLog(bus, {
    text: realText('j1939-bench-key-on/j1939-bench-key-on.log.gz'),
    frames: Math.min(2_000_000, 2 * rows),
  });
  await compare(bus, busRule);
  for (const { real, rule, pattern, time } of MARINE) {
    const path = join(folder, `bench-${rule.id}`);
    writeRepeatedLog(path, { text: realText(real), lines: Math.min(1_000_000, rows), pattern, time });
    const json = { name: 'lines through JSON.parse', run: () => countJson(path) };
    await compare(path, rule, rule.format === 'signalk_delta' ? json : undefined);
  }
} finally {
  rmSync(folder, { recursive: true });
}
