// Every number of the expected.json files in test/data: made by a decoder written for that alone in Python, and checked
// there against pandas (CSV) and python-can with cantools (J1939). The logs are open captures; see SOURCE.md beside each.
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gunzipSync } from 'node:zlib';
import { parse as parseCsv } from 'csv-parse/sync';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { parse as parseYaml } from 'yaml';
import { fleetFileSchema } from '../schemas/fleet-file.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import type { LogPort } from '../storage/log/port.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { type LoadReport, loadFile } from './load-file.ts';

const data = join(dirname(fileURLToPath(import.meta.url)), '../test/data');
const fleet = fleetFileSchema.parse(parseYaml(readFileSync(join(data, 'fleet.yaml'), 'utf8')));
const nowMs = Date.UTC(2026, 0, 1);

const BUS_LOGS = [
  ['j1939-bench-key-on', 0, '1970-01-01T00:00:00Z'],
  ['j1939-truck-drive', 0, '2021-07-01T10:00:00Z'],
  ['j1939-truck-idle-faults', 0, '2021-07-01T11:00:00Z'],
  ['j1939-truck-idle-noise', 0, '2021-07-01T12:00:00Z'],
  ['j1939-tractor-starts', 0, '2018-10-01T08:00:00Z'],
  ['j1939-tractor-starts', 1, '2018-10-01T09:00:00Z'],
  ['j1939-tractor-starts', 2, '2018-10-01T10:00:00Z'],
] as const;

let folder = '';
let log: LogPort;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'ingest-'));
  log = openSqliteLog({ path: join(folder, 'log.db') });
});
afterAll(async () => {
  await log.close();
  rmSync(folder, { recursive: true });
});

type ExpectedSignal = {
  pgn: number;
  spn: number;
  sourceAddress: number;
  unit: string;
  frames: number;
  valid: number;
  notAvailable: number;
  errorIndicator: number;
  parameterSpecificOrReserved: number;
  min: number | null;
  max: number | null;
  mean: number | null;
  firstTimestamp: string | null;
  lastTimestamp: string | null;
};
type ExpectedCodes = {
  sourceAddress: number;
  transport: string;
  malfunctionIndicator: string;
  redStop: string;
  amberWarning: string;
  protect: string;
  codes: { spn: number; fmi: number; count: number; conversionMethod: number }[];
  messages: number;
  firstTimestamp: string;
  lastTimestamp: string;
};
type ExpectedBusFile = {
  file: string;
  lines: number;
  frames: number;
  remoteFrames: number;
  standardIdFrames: number;
  unparsedLines: number;
  interfaces: Record<string, number>;
  firstTimestamp: string;
  lastTimestamp: string;
  timestampsGoingBackwards: number;
  distinctPgns: number;
  framesPerPgn: Record<string, number>;
  signals: ExpectedSignal[];
  activeTroubleCodes: ExpectedCodes[];
  transportProtocol: {
    control: Record<string, number>;
    completedMessages: { pgn: number; sourceAddress: number; how: string; count: number }[];
  };
};

function expectedFiles(folderName: string): unknown[] {
  return (JSON.parse(readFileSync(join(data, folderName, 'expected.json'), 'utf8')) as { files: unknown[] }).files;
}

async function blocksOf(source: string): Promise<SampleBlock[]> {
  const blocks: SampleBlock[] = [];
  for await (const record of log.scan({ topic: 'samples' })) {
    if (record.value.source === source) blocks.push(record.value);
  }
  return blocks;
}

describe.each(BUS_LOGS)('%s, file %i', (folderName, index, startsAt) => {
  const expected = expectedFiles(folderName)[index] as ExpectedBusFile;
  const startMs = Date.parse(startsAt);
  const iso = (seconds: string | null) =>
    seconds === null ? null : new Date(Math.round(startMs + Number(seconds) * 1000)).toISOString();
  let report: LoadReport;
  beforeAll(async () => {
    report = await loadFile({ path: join(data, folderName, expected.file), fleet, log, nowMs });
  });

  test('every line is accounted for', () => {
    expect(report).toMatchObject({
      rows: expected.lines,
      accepted: expected.lines,
      duplicates: 0,
      late: 0,
      rejected: {},
    });
    expect(expected.unparsedLines).toBe(0);
    expect(report.bus).toMatchObject({
      frames: expected.frames,
      remoteFrames: expected.remoteFrames,
      standardFrames: expected.standardIdFrames,
      interfaces: expected.interfaces,
      timesGoingBack: expected.timestampsGoingBackwards,
      first: iso(expected.firstTimestamp),
      last: iso(expected.lastTimestamp),
      distinctPgns: expected.distinctPgns,
      framesPerPgn: expected.framesPerPgn,
    });
  });

  test('every parameter of every sender has the counts, extremes, mean and times of the reference decoder', () => {
    // SPN 1169 is the speed of a second turbocharger and is not read: it must not pass for the first one's.
    const wanted = expected.signals.filter((item) => item.spn !== 1169);
    const byKey = new Map(report.parameters?.map((item) => [`${item.pgn}/${item.spn}/${item.sourceAddress}`, item]));
    expect([...byKey.keys()].sort()).toEqual(
      wanted.map((item) => `${item.pgn}/${item.spn}/${item.sourceAddress}`).sort(),
    );
    for (const item of wanted) {
      const key = `${item.pgn}/${item.spn}/${item.sourceAddress}`;
      const got = byKey.get(key);
      expect({ key, ...got }).toMatchObject({
        key,
        unit: item.unit,
        frames: item.frames,
        valid: item.valid,
        notAvailable: item.notAvailable,
        error: item.errorIndicator,
        reserved: item.parameterSpecificOrReserved,
        min: item.min === null ? null : expect.closeTo(item.min, 5),
        max: item.max === null ? null : expect.closeTo(item.max, 5),
        mean: item.mean === null ? null : expect.closeTo(item.mean, 6),
        first: iso(item.firstTimestamp),
        last: iso(item.lastTimestamp),
      });
    }
  });

  test('every state of the trouble codes of every sender is found', () => {
    const names: Record<string, string> = {
      'single frame': 'single_frame',
      'multi-packet broadcast': 'broadcast',
      'multi-packet connection': 'connection',
    };
    const order = (a: { sourceAddress: number; first: unknown }, b: typeof a) =>
      a.sourceAddress - b.sourceAddress || String(a.first).localeCompare(String(b.first));
    const wanted = expected.activeTroubleCodes
      .map(({ firstTimestamp, lastTimestamp, transport, ...state }) => ({
        ...state,
        codes: state.codes.map((code) => ({ ...code, sourceAddress: state.sourceAddress })),
        transport: names[transport],
        first: iso(firstTimestamp),
        last: iso(lastTimestamp),
      }))
      .sort(order);
    expect([...(report.troubleCodes ?? [])].sort(order)).toEqual(wanted);
  });

  test('every transport session is counted as the reference decoder counts it', () => {
    const { control, completedMessages } = expected.transportProtocol;
    expect(report.transport).toMatchObject(control);
    // The reference has no count of packets that do not follow on; what completed, below, shows they were left out alike.
    const stated = [
      'broadcastAnnounce',
      'requestToSend',
      'clearToSend',
      'endOfMessage',
      'abort',
      'other',
      'dataWithoutSession',
      'replacedBeforeComplete',
      'unfinishedAtEnd',
    ] as const;
    for (const name of stated) expect([name, report.transport?.[name]]).toEqual([name, control[name] ?? 0]);
    const order = (a: { pgn: number; sourceAddress: number; how: string }, b: typeof a) =>
      a.pgn - b.pgn || a.sourceAddress - b.sourceAddress || a.how.localeCompare(b.how);
    expect([...(report.transport?.completed ?? [])].sort(order)).toEqual([...completedMessages].sort(order));
  });

  test('the log holds one sample a second, and the engine alone', async () => {
    const blocks = await blocksOf(report.source);
    const times = blocks.flatMap((block) => block.t);
    expect(times.length).toBeGreaterThan(0);
    expect(times.every((time) => time % 1000 === 0)).toBe(true);
    expect(new Set(times).size).toBe(times.length);
    for (const block of blocks) {
      for (const code of block.troubleCodes ?? []) expect(code.sourceAddress).toBe(0);
      expect(block.signals.engineSpeed?.some((value) => value !== null)).toBe(true);
    }
    const speeds = blocks.flatMap((block) => block.signals.engineSpeed ?? []).filter((value) => value !== null);
    const engine = expected.signals.find((item) => item.spn === 190 && item.sourceAddress === 0);
    expect(Math.min(...speeds)).toBeGreaterThanOrEqual(engine?.min ?? Number.NaN);
    expect(Math.max(...speeds)).toBeLessThanOrEqual(engine?.max ?? Number.NaN);
  });

  test('a second load adds nothing and calls every row a duplicate', async () => {
    const before = (await blocksOf(report.source)).length;
    const again = await loadFile({ path: join(data, folderName, expected.file), fleet, log, nowMs });
    expect(again).toMatchObject({
      rows: expected.lines,
      accepted: 0,
      duplicates: expected.lines,
      rejected: {},
      isKnown: true,
    });
    expect((await blocksOf(report.source)).length).toBe(before);
  });
});

type ExpectedColumn = {
  column: string;
  values: number;
  min: number;
  max: number;
  mean: number;
  firstSeconds: string;
  lastSeconds: string;
};
type ExpectedCsvFile = {
  file: string;
  rows: number;
  repeatedRows: number;
  rowsPerColumn: Record<string, number>;
  signals: ExpectedColumn[];
  derivedBoost: { values: number; min: number; max: number; mean: number };
};

describe('csv-obd-diesel', () => {
  const expected = expectedFiles('csv-obd-diesel')[0] as ExpectedCsvFile;
  const path = join(data, 'csv-obd-diesel', expected.file);
  const startMs = Date.parse('2019-03-05T21:17:15Z');
  const iso = (seconds: string) => new Date(Math.round(startMs + Number(seconds) * 1000)).toISOString();
  const rule = fleet.sources.find((source) => source.id === 'car-log');
  if (rule?.format !== 'csv_long') throw new Error('the fleet file has the rule of this log');
  let report: LoadReport;
  beforeAll(async () => {
    report = await loadFile({ path, fleet, log, nowMs });
  });

  test('every row is accounted for, and so is every channel', () => {
    expect(report).toMatchObject({
      rows: expected.rows,
      accepted: expected.rows - expected.repeatedRows,
      duplicates: expected.repeatedRows,
      late: 0,
      rejected: {},
    });
    const mapped = Object.entries(rule.columns).map(
      ([key, column]) => [column?.column ?? '', report.signals[key as 'fuelRate']?.count] as const,
    );
    expect({ ...report.unmapped, ...Object.fromEntries(mapped) }).toEqual(expected.rowsPerColumn);
  });

  test('every column that is a signal has the count, extremes, mean and times of the reference decoder', () => {
    // In kg/h where the file has g/s.
    const factors: Record<string, number> = { 'MAF air flow rate': 3.6 };
    // The logger's own boost is compared below. Rail pressure and recirculation duty are no signals of the pipeline;
    // their rows are counted as unmapped, above.
    const others = ['Calculated boost', 'Fuel rail pressure (absolute)', 'Commanded EGR duty'];
    for (const wanted of expected.signals.filter((item) => !others.includes(item.column))) {
      const key = Object.entries(rule.columns).find(([, column]) => column?.column === wanted.column)?.[0];
      const factor = factors[wanted.column] ?? 1;
      expect([wanted.column, report.signals[key as 'fuelRate']]).toEqual([
        wanted.column,
        {
          count: wanted.values,
          min: expect.closeTo(wanted.min * factor, 6),
          max: expect.closeTo(wanted.max * factor, 6),
          mean: expect.closeTo(wanted.mean * factor, 5),
          first: iso(wanted.firstSeconds),
          last: iso(wanted.lastSeconds),
        },
      ]);
    }
  });

  test("the logger's own boost in bar reads as kPa gauge", async () => {
    const wanted = expected.signals.find((item) => item.column === 'Calculated boost');
    const boost = {
      ...rule,
      id: 'car-log-boost',
      columns: { boostPressure: { column: 'Calculated boost', unit: 'bar', reference: 'gauge' as const } },
    };
    const loaded = await loadFile({ path, fleet, log, nowMs, rule: boost });
    expect(loaded.signals.boostPressure).toMatchObject({
      count: wanted?.values,
      min: wanted?.min,
      max: expect.closeTo((wanted?.max ?? 0) * 100, 6),
      mean: expect.closeTo((wanted?.mean ?? 0) * 100, 3),
      first: iso(wanted?.firstSeconds ?? ''),
      last: iso(wanted?.lastSeconds ?? ''),
    });
  });

  test('boost in the log is absolute pressure less the newest barometric one', async () => {
    // The reference derives boost reading by reading, the log second by second, so counts differ. The same rows are read
    // here with csv-parse, held against the reference first, and then averaged over seconds as the log must have them.
    const rows = parseCsv(gunzipSync(readFileSync(path)), { delimiter: ';', columns: true }) as Record<
      string,
      string
    >[];
    let barometric: number | undefined;
    const readings: { second: number; boost: number }[] = [];
    for (const row of rows) {
      const value = Number(row['VALUE']);
      if (row['PID'] === 'Barometric pressure') barometric = value;
      if (row['PID'] !== 'Intake manifold absolute pressure' || barometric === undefined) continue;
      readings.push({
        second: Math.floor((startMs + Number(row['SECONDS']) * 1000) / 1000),
        boost: value - barometric,
      });
    }
    const boosts = readings.map((reading) => reading.boost);
    expect(boosts.length).toBe(expected.derivedBoost.values);
    expect(Math.min(...boosts)).toBe(expected.derivedBoost.min);
    expect(Math.max(...boosts)).toBe(expected.derivedBoost.max);
    expect(boosts.reduce((a, b) => a + b, 0) / boosts.length).toBeCloseTo(expected.derivedBoost.mean, 5);
    const logged = new Map<number, number | null | undefined>();
    for (const block of await blocksOf('car-log')) {
      for (const [i, time] of block.t.entries()) logged.set(time / 1000, block.signals.boostPressure?.[i]);
    }
    const seconds = new Map<number, typeof readings>();
    for (const reading of readings) seconds.set(reading.second, [...(seconds.get(reading.second) ?? []), reading]);
    // The first second holds readings from before the first barometric one, and its mean has them all.
    for (const [second, group] of [...seconds].slice(1)) {
      expect(logged.get(second)).toBeCloseTo(group.reduce((sum, reading) => sum + reading.boost, 0) / group.length, 9);
    }
  });
});
