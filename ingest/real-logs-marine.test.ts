// Every number of the expected.json files of the NMEA 2000 and Signal K logs in test/data: made by decoders written for
// that alone in Python, and checked there against openly licensed readers. The logs are open captures; see SOURCE.md
// beside each.
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gunzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { parse as parseYaml } from 'yaml';
import { fleetFileSchema } from '../schemas/fleet-file.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import type { SignalKey } from '../schemas/signals.ts';
import type { LogPort } from '../storage/log/port.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { loadFile } from './load-file.ts';
import type { LoadReport } from './load-report.ts';
import type { ReportedQuantity } from './marine-report.ts';

const data = join(dirname(fileURLToPath(import.meta.url)), '../test/data');
const fleet = fleetFileSchema.parse(parseYaml(readFileSync(join(data, 'fleet.yaml'), 'utf8')));
const nowMs = Date.UTC(2027, 0, 1);

let folder = '';
let log: LogPort;
beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'ingest-marine-'));
  log = openSqliteLog({ path: join(folder, 'log.db') });
});
afterAll(async () => {
  await log.close();
  rmSync(folder, { recursive: true });
});

type Statistics = {
  unit: string;
  min: number | null;
  max: number | null;
  mean: number | null;
  canonicalUnit?: string;
  canonicalMin?: number | null;
  canonicalMax?: number | null;
  canonicalMean?: number | null;
  firstTimestamp: string | null;
  lastTimestamp: string | null;
  firstValues: number[];
};
type ExpectedN2kSignal = Statistics & {
  pgn: number;
  source: number;
  instance?: number;
  temperatureSource?: string | number;
  pressureSource?: string | number;
  field: string;
  messages: number;
  valid: number;
  notAvailable: number;
  outOfRangeOrError: number;
  reserved: number;
};
type ExpectedN2kFile = {
  file: string;
  lines: number;
  commentsOrEmpty: number;
  unparsedLines: number;
  fastPacketsUnfinished: number;
  messages: number;
  firstTimestamp: string;
  lastTimestamp: string;
  messagesPerPgn: Record<string, number>;
  engineDiscreteStatus: { source: number; instance: number; status1: number; status2: number; messages: number }[];
  signals: ExpectedN2kSignal[];
};
type ExpectedSignalKFile = {
  file: string;
  lines: number;
  deltas: number;
  invalidJson: number;
  updates: number;
  updatesWithoutTimestamp: number;
  values: number;
  contexts: Record<string, number>;
  earliestTimestamp: string;
  latestTimestamp: string;
  valuesPerPath: Record<string, number>;
  signals: (Omit<Statistics, 'unit'> & {
    path: string;
    source: string;
    pgn: number;
    values: number;
    distinctTimestamps: number;
  })[];
};

/** Numbers of the sources that the reference decoder names (NMEA 2000 list of temperature and pressure sources). */
const SOURCES: Record<string, number> = {
  sea: 0,
  outside: 1,
  'engine room': 3,
  'heating system': 8,
  freezer: 13,
  atmospheric: 0,
  hydraulic: 4,
};
/** From the unit of the reference to ours, and back. */
const SI: Record<string, (value: number) => number> = {
  Pa: (kpa) => kpa * 1000,
  K: (degC) => degC + 273.15,
  s: (hours) => hours * 3600,
};

function expectedFiles(folderName: string): unknown[] {
  return (JSON.parse(readFileSync(join(data, folderName, 'expected.json'), 'utf8')) as { files: unknown[] }).files;
}

async function blocksOf(unit: string): Promise<SampleBlock[]> {
  const blocks: SampleBlock[] = [];
  for await (const record of log.scan({ topic: 'samples' })) {
    if (record.value.unit === unit) blocks.push(record.value);
  }
  return blocks;
}

async function samplesOf(unit: string, key: SignalKey): Promise<Map<number, number>> {
  const values = new Map<number, number>();
  for (const block of await blocksOf(unit)) {
    for (const [i, timeMs] of block.t.entries()) {
      const value = block.signals[key]?.[i];
      if (value !== null && value !== undefined) values.set(timeMs, value);
    }
  }
  return values;
}

// To the nearest millisecond, where Date.parse cuts off; a gateway's hyphen stands for the T and means UTC.
function isoOf(text: string | null, startMs: number): string | null {
  if (text === null) return null;
  if (/^\d+\.\d+$/.test(text)) return new Date(Math.round(startMs + Number(text) * 1000)).toISOString();
  const plain = text.replace(/^(\d{4}-\d\d-\d\d)-(.*)$/, '$1T$2Z');
  const fraction = Number(/\.\d+/.exec(plain)?.[0] ?? 0);
  return new Date(Math.round(Date.parse(plain.replace(/\.\d+/, '')) + fraction * 1000)).toISOString();
}

function expectStatistics(got: ReportedQuantity | undefined, wanted: Statistics, startMs: number): void {
  const close = (value: number | null | undefined) =>
    value === null || value === undefined ? null : expect.closeTo(value, 5);
  const si = SI[wanted.unit] ?? ((value: number) => value);
  const back = (value: number | null | undefined) => (value === null || value === undefined ? null : si(value));
  expect({ min: back(got?.min), max: back(got?.max), mean: back(got?.mean) }).toEqual({
    min: close(wanted.min),
    max: close(wanted.max),
    mean: close(wanted.mean),
  });
  expect(got).toMatchObject({
    firstAt: isoOf(wanted.firstTimestamp, startMs),
    lastAt: isoOf(wanted.lastTimestamp, startMs),
  });
  expect(got?.firstValues.map(si)).toEqual(wanted.firstValues.map((value) => expect.closeTo(value, 5)));
  if (wanted.canonicalUnit === undefined) return;
  expect(got).toMatchObject({
    unit: wanted.canonicalUnit,
    min: close(wanted.canonicalMin),
    max: close(wanted.canonicalMax),
    mean: close(wanted.canonicalMean),
  });
}

const N2K_LOGS = [
  ['n2k-single-diesel', 0, ''],
  ['n2k-many-sources', 0, ''],
  ['n2k-engine-messages', 0, ''],
  ['n2k-engine-messages', 1, ''],
  ['n2k-engine-messages', 2, '2020-06-01T06:00:00Z'],
] as const;

describe.each(N2K_LOGS)('%s, file %i', (folderName, index, startsAt) => {
  const expected = expectedFiles(folderName)[index] as ExpectedN2kFile;
  const startMs = Date.parse(startsAt);
  const path = join(data, folderName, expected.file);
  let report: LoadReport;
  beforeAll(async () => {
    report = await loadFile({ path, fleet, log, nowMs });
  });

  test('every line is accounted for', () => {
    const rows = expected.lines - expected.commentsOrEmpty;
    expect(report).toMatchObject({ rows, accepted: rows, duplicates: 0, late: 0, rejected: {} });
    expect(expected.unparsedLines).toBe(0);
    expect(report.n2k).toMatchObject({
      comments: expected.commentsOrEmpty,
      messages: expected.messages,
      messagesPerPgn: expected.messagesPerPgn,
      fastPacketsUnfinished: expected.fastPacketsUnfinished,
      fastPacketsLost: 0,
      framesOutOfSequence: 0,
      quantitiesLeftOut: 0,
    });
    // The reference gives the first and last whole message; ours are those of the lines, which differ where fast packets
    // are not joined.
    if (startsAt === '') {
      expect(report.n2k).toMatchObject({
        first: isoOf(expected.firstTimestamp, startMs),
        last: isoOf(expected.lastTimestamp, startMs),
      });
    }
  });

  test('every quantity of every sender has the counts, extremes, mean and times of the reference decoder', () => {
    const sourceOf = (item: ExpectedN2kSignal) => {
      const source = item.temperatureSource ?? item.pressureSource;
      return source === undefined ? null : typeof source === 'number' ? source : (SOURCES[source] ?? Number(source));
    };
    const keyOf = (...parts: unknown[]) => parts.join('/');
    const got = new Map(
      report.n2k?.quantities.map((item) => [keyOf(item.pgn, item.sender, item.instance, item.source, item.name), item]),
    );
    const wanted = new Map(
      expected.signals.map((item) => [
        keyOf(item.pgn, item.source, item.instance ?? null, sourceOf(item), item.field),
        item,
      ]),
    );
    expect([...got.keys()].sort()).toEqual([...wanted.keys()].sort());
    for (const [key, item] of wanted) {
      const found = got.get(key);
      expect({ key, ...found }).toMatchObject({
        messages: item.messages,
        notAvailable: item.notAvailable,
        error: item.outOfRangeOrError,
        reserved: item.reserved,
      });
      if (found?.wrongFill === 0) {
        expect(found.valid).toBe(item.valid);
        expectStatistics(found, item, startMs);
        continue;
      }
      // A signed field of all ones: the reference reads -1 steps as a value, we say that the sender has none.
      const step = item.field === 'fuelRate' ? -0.1 : -1;
      expect([item.min, item.max, item.mean]).toEqual([step, step, step]);
      expect(found).toMatchObject({ wrongFill: item.valid, valid: 0, min: null });
    }
  });

  test('every state of the status words is found', () => {
    const wanted = expected.engineDiscreteStatus.map(({ source, ...state }) => ({ ...state, sender: source }));
    const order = (a: { sender: number; status1: number; instance: number }, b: typeof a) =>
      a.sender - b.sender || a.instance - b.instance || a.status1 - b.status1;
    expect([...(report.n2k?.engineStatus ?? [])].sort(order)).toEqual(wanted.sort(order));
  });

  test('a second load adds nothing and calls every row a duplicate', async () => {
    const again = await loadFile({ path, fleet, log, nowMs });
    expect(again).toMatchObject({ rows: report.rows, accepted: 0, duplicates: report.rows, isKnown: true });
  });
});

const SIGNALK_LOGS = [
  ['signalk-from-n2k', 0],
  ['signalk-from-n2k', 1],
  ['signalk-twin-diesel', 0],
] as const;

describe.each(SIGNALK_LOGS)('%s, file %i', (folderName, index) => {
  const expected = expectedFiles(folderName)[index] as ExpectedSignalKFile;
  const path = join(data, folderName, expected.file);
  let report: LoadReport;
  beforeAll(async () => {
    report = await loadFile({ path, fleet, log, nowMs });
  });

  test('every delta, update and value is accounted for', () => {
    expect(expected.invalidJson).toBe(0);
    expect(report).toMatchObject({
      rows: expected.lines,
      accepted: expected.lines,
      duplicates: 0,
      late: 0,
      rejected: {},
      rejectedValues: {},
    });
    expect(report.signalK).toMatchObject({
      deltas: expected.deltas,
      updates: expected.updates,
      updatesWithoutTime: expected.updatesWithoutTimestamp,
      values: expected.values,
      contexts: expected.contexts,
      valuesPerPath: expected.valuesPerPath,
      first: isoOf(expected.earliestTimestamp, 0),
      last: isoOf(expected.latestTimestamp, 0),
      quantitiesLeftOut: 0,
    });
  });

  test('every path of every sender has the counts, extremes, mean and times of the reference decoder', () => {
    // The reference lists the numbers of engine and surroundings alone.
    const quantities = report.signalK?.quantities.filter((item) => /^(propulsion|environment)\./.test(item.name)) ?? [];
    expect(quantities.length).toBe(expected.signals.length);
    for (const wanted of expected.signals) {
      const found = quantities.find(
        (item) => item.name === wanted.path && `.${item.sender}`.endsWith(`.${wanted.source}`),
      );
      expect({ path: wanted.path, ...found }).toMatchObject({
        pgn: wanted.pgn,
        messages: wanted.values,
        valid: wanted.values,
        wrongFill: 0,
        times: wanted.distinctTimestamps,
        firstAt: isoOf(wanted.firstTimestamp, 0),
        lastAt: isoOf(wanted.lastTimestamp, 0),
      });
      const close = (value: number | null | undefined, si: number | null) =>
        expect.closeTo((wanted.canonicalUnit === undefined ? si : value) ?? Number.NaN, 5);
      expect(found).toMatchObject({
        unit: wanted.canonicalUnit ?? 'SI',
        min: close(wanted.canonicalMin, wanted.min),
        max: close(wanted.canonicalMax, wanted.max),
        mean: close(wanted.canonicalMean, wanted.mean),
      });
      expect(found?.firstValues.length).toBe(wanted.firstValues.length);
      for (const [i, value] of wanted.firstValues.entries())
        expect(toSi(found?.name ?? '', found?.firstValues[i] ?? Number.NaN)).toBeCloseTo(value, 5);
    }
  });
});

// Back from our unit to the SI unit of a path that is read as a signal.
function toSi(path: string, value: number): number {
  if (/temperature$/i.test(path) || path.endsWith('.outside')) return value + 273.15;
  if (/pressure$/i.test(path)) return value * 1000;
  if (path.endsWith('revolutions')) return value / 60;
  return path.endsWith('runTime') ? value * 3600 : value;
}

describe('what goes to the log', () => {
  test('the same engine gives the same samples by its bus and by deltas made of it', async () => {
    // The converter rounds speed to 0.1 rpm; the other quantities pass unrounded.
    const tolerances = [
      ['engineSpeed', 0.05],
      ['oilPressure', 1e-9],
      ['coolantTemperature', 1e-9],
      ['engineHours', 1e-9],
    ] as const;
    for (const [key, tolerance] of tolerances) {
      const bus = await samplesOf('yacht-main', key);
      const deltas = await samplesOf('delta-main', key);
      expect(bus.size).toBeGreaterThan(20);
      expect([...deltas.keys()]).toEqual([...bus.keys()]);
      for (const [timeMs, value] of bus)
        expect(Math.abs((deltas.get(timeMs) ?? 1e9) - value)).toBeLessThanOrEqual(tolerance);
    }
  });

  test('boost of two engines keeps apart, 6 and 8 kPa by either reader', async () => {
    for (const names of [
      ['boost-port', 'boost-starboard'],
      ['delta-port', 'delta-starboard'],
    ]) {
      const boosts = await Promise.all(names.map((unit) => samplesOf(unit, 'boostPressure')));
      expect(boosts.map((values) => [...values.values()])).toEqual([[6], [8]]);
    }
  });

  test('values that share a whole second are all in its mean', async () => {
    const lines = gunzipSync(readFileSync(join(data, 'signalk-twin-diesel/signalk-twin-diesel.jsonl.gz'))).toString();
    for (const [engine, unit] of [
      ['0', 'cruiser-port'],
      ['1', 'cruiser-starboard'],
    ] as const) {
      const bySecond = new Map<number, number[]>();
      const readings = lines.matchAll(
        new RegExp(
          `"timestamp": "([^"]+)","values":\\[\\{"path": "propulsion\\.${engine}\\.revolutions","value": ([0-9.]+)`,
          'g',
        ),
      );
      for (const [, time, value] of readings) {
        const timeMs = Date.parse(time ?? '');
        bySecond.set(timeMs, [...(bySecond.get(timeMs) ?? []), Number(value) * 60]);
      }
      const samples = await samplesOf(unit, 'engineSpeed');
      expect([...bySecond.values()].flat().length).toBe(114);
      expect([...samples.keys()]).toEqual([...bySecond.keys()].sort((a, b) => a - b));
      for (const [timeMs, group] of bySecond)
        expect(samples.get(timeMs)).toBeCloseTo(group.reduce((a, b) => a + b, 0) / group.length, 9);
    }
  });

  test('the interleaved fast packets of one sender give each instance its own samples, and the cut-off one none', async () => {
    const port = await samplesOf('packets-port', 'fuelRate');
    const starboard = await samplesOf('packets-starboard', 'fuelRate');
    // 3.8, 3.6 and 3.5 L/h of instance 0, of which the third is in the next second; 3.5 and 3.3 of instance 1.
    expect([...port.values()]).toEqual([expect.closeTo((3.8 + 3.6) / 2, 9), 3.5]);
    expect([...starboard.values()]).toEqual([expect.closeTo((3.5 + 3.3) / 2, 9)]);
  });

  test('one sender of the sea temperature is read, and fillings with ones are not', async () => {
    const sea = await samplesOf('harbour-port', 'seaWaterTemperature');
    // 130312 of sender 36, every other second, once it has spoken; before that 130310, in the first seconds.
    expect(sea.size).toBeGreaterThanOrEqual(32);
    expect(sea.size).toBeLessThanOrEqual(35);
    for (const key of ['fuelRate', 'engineLoad', 'actualTorque'] as const)
      expect((await samplesOf('harbour-port', key)).size).toBe(0);
    const torque = await samplesOf('battery-main', 'actualTorque');
    expect(torque.size).toBe(0);
    expect((await samplesOf('harbour-starboard', 'coolantTemperature')).size).toBeGreaterThan(60);
  });
});
