// A million rows of eighteen columns, 1 Hz, from a simulated long-haul truck with a growing leak: from the file to
// findings, as a ratio to what CSV parsers need to read the same file. `npm run -s bench -- findings [rows]`.

import { once } from 'node:events';
import { createReadStream, createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { parse } from 'csv-parse';
import { inferSchema, initParser } from 'udsv';
import { runAlertsOnce } from '../alerts/worker.ts';
import { runAnalysisOnce } from '../analysis/worker.ts';
import { DEMO_START_MS } from '../demo/calendar.ts';
import type { ModelSignal } from '../demo/engine/outputs.ts';
import { demoUnit } from '../demo/scenario.ts';
import { fitSensors } from '../demo/sensors.ts';
import { simulateUnit } from '../demo/simulate-unit.ts';
import { loadFile } from '../ingest/load-file.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import { openSqliteHistory } from '../storage/history/sqlite.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { unitOfPlan } from './simulated-fleet.ts';

const KEYS: readonly ModelSignal[] = [
  'engineSpeed',
  'engineLoad',
  'fuelRate',
  'boostPressure',
  'intakeManifoldTemperature',
  'exhaustTemperature',
  'oilPressure',
  'oilTemperature',
  'coolantTemperature',
  'barometricPressure',
  'ambientAirTemperature',
  'intakeAirTemperature',
  'vehicleSpeed',
  'airFilterDifferentialPressure',
  'compressorOutletTemperature',
  'turbochargerSpeed',
  'engineHours',
];
const rows = Number(process.argv[2] ?? 1_000_000);
const folder = mkdtempSync(join(tmpdir(), 'bench-findings-'));
const truck = demoUnit('truck-07');
const day = 86_400_000;
const plan = {
  ...truck,
  sampleS: 1,
  sensors: fitSensors(KEYS, false),
  faults: [
    {
      faultId: 'boost_leak_after_cooler',
      growth: { shape: 'linear', onsetMs: DEMO_START_MS + 16 * day, fullMs: DEMO_START_MS + 30 * day },
      effects: { leakAfterCoolerMm: 12 },
    },
  ] as typeof truck.faults,
};
const unit = unitOfPlan(plan, 'long_haul');

try {
  const path = join(folder, 'truck.csv');
  const written = await writeCsv(path);
  const bytes = statSync(path).size;
  const results: { what: string; cpuS: number; wallS: number }[] = [];
  const measure = async (what: string, work: () => Promise<unknown>) => {
    const cpu = process.cpuUsage();
    const wall = performance.now();
    const said = await work();
    const used = process.cpuUsage(cpu);
    results.push({ what, cpuS: (used.user + used.system) / 1e6, wallS: (performance.now() - wall) / 1000 });
    return said;
  };
  await measure('reading the bytes', () => readBytes(path));
  await measure('uDSV, typed rows', () => parseTyped(path));
  await measure('csv-parse, rows of text', () => parseText(path));
  const said = await measure('file to findings', () => toFindings(path));
  const floor = Math.min(...results.slice(1, 3).map((one) => one.cpuS));
  console.log(`${written} rows, ${KEYS.length + 1} columns, ${(bytes / 1e6).toFixed(0)} MB`);
  for (const one of results)
    console.log(
      `${one.what.padEnd(26)} ${one.cpuS.toFixed(2)} s CPU ${one.wallS.toFixed(2)} s clock  ${(one.cpuS / floor).toFixed(2)} x the fastest parser (CPU)`,
    );
  console.log(String(said));
  console.log(`peak memory ${(process.resourceUsage().maxRSS / 1024).toFixed(0)} MB (the parsers' included)`);
} finally {
  rmSync(folder, { recursive: true, force: true });
}

async function writeCsv(path: string): Promise<number> {
  const out = createWriteStream(path);
  out.write(`time,${KEYS.join(',')}\n`);
  const digits: Partial<Record<ModelSignal, number>> = {
    engineSpeed: 3,
    exhaustTemperature: 2,
    compressorOutletTemperature: 2,
  };
  let count = 0;
  for (const one of simulateUnit(plan, { startMs: DEMO_START_MS, days: 120, seed: 1 })) {
    let text = '';
    for (let i = 0; i < one.count && count < rows; i += 1, count += 1) {
      text += new Date(one.timesMs[i] as number).toISOString();
      KEYS.forEach((key, column) => {
        const value = one.columns[column]?.[i] as number;
        text += Number.isNaN(value) ? ',' : `,${value.toFixed(digits[key] ?? 1)}`;
      });
      text += '\n';
    }
    if (!out.write(text)) await once(out, 'drain');
    if (count >= rows) break;
  }
  out.end();
  await once(out, 'close');
  return count;
}

async function readBytes(path: string): Promise<void> {
  for await (const _ of createReadStream(path, { highWaterMark: 1 << 18 }));
}

async function parseTyped(path: string): Promise<void> {
  let parser: ReturnType<typeof initParser> | undefined;
  let count = 0;
  for await (const chunk of createReadStream(path, { highWaterMark: 1 << 18, encoding: 'utf8' })) {
    parser ??= initParser(inferSchema(chunk));
    parser.chunk<unknown[]>(chunk, parser.typedArrs as never, (batch) => {
      count += batch.length;
    });
  }
  parser?.end();
  if (count === 0) throw new Error('the parser gave no rows');
}

async function parseText(path: string): Promise<void> {
  for await (const _ of createReadStream(path).pipe(parse()));
}

async function toFindings(path: string): Promise<string> {
  const log = openSqliteLog({ path: join(folder, 'log.sqlite') });
  const history = openSqliteHistory({ path: join(folder, 'history.sqlite') });
  const fleet: FleetFile = {
    version: 1,
    fleet: { name: 'bench', timeZone: 'UTC', falseFindingsPer100UnitsAndWeek: 1 },
    places: [{ id: 'bench', name: 'Bench', kind: 'depot' }],
    units: [unit],
    sources: [
      {
        id: 'csv',
        files: '*.csv',
        format: 'csv_wide',
        unit: unit.id,
        delimiter: ',',
        decimal: '.',
        skipLines: 0,
        notAvailable: [],
        time: { column: 'time', format: 'iso8601' },
        columns: Object.fromEntries(KEYS.map((key) => [key, { column: key }])),
      },
    ],
  };
  const begun = performance.now();
  const report = await loadFile({ path, fleet, log, nowMs: DEMO_START_MS + 365 * day, onProgress: () => undefined });
  const loaded = performance.now();
  let [points, findings] = [0, 0];
  for (;;) {
    const round = await runAnalysisOnce({ log, history, fleet, max: 64 });
    if (round.batches === 0) break;
    points += round.points;
    findings += round.findings;
  }
  const analysed = performance.now();
  await runAlertsOnce({ log, fleet, max: 1000 });
  const kinds = new Set<string>();
  for await (const record of log.scan({ topic: 'findings' })) kinds.add(record.value.kind);
  await log.close();
  await history.close();
  return `accepted ${report.accepted}, load ${((loaded - begun) / 1000).toFixed(2)} s, analysis ${((analysed - loaded) / 1000).toFixed(2)} s, points ${points}, reports ${findings}: ${[...kinds].join(', ')}`;
}
