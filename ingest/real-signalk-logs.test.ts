// Every number of the expected.json files of the Signal K logs in test/data: made by a decoder written for that alone in Python,
// and checked there against openly licensed readers. The logs are open captures; see SOURCE.md beside each.
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type ExpectedStatistics, isoOf, type MarineLog, openMarineLog } from '../test/support/marine-log.ts';
import type { LoadReport } from './load-report.ts';
import { expectedFiles, REAL_LOGS } from './real-logs-for-tests.ts';

let log: MarineLog;
beforeAll(() => {
  log = openMarineLog();
});
afterAll(() => log.close());

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
  signals: (Omit<ExpectedStatistics, 'unit'> & {
    path: string;
    source: string;
    pgn: number;
    values: number;
    distinctTimestamps: number;
  })[];
};

const SIGNALK_LOGS = [
  ['signalk-from-n2k', 0],
  ['signalk-from-n2k', 1],
  ['signalk-twin-diesel', 0],
] as const;

describe.each(SIGNALK_LOGS)('%s, file %i', (folderName, index) => {
  const expected = expectedFiles(folderName)[index] as ExpectedSignalKFile;
  let report: LoadReport;
  beforeAll(async () => {
    report = await log.load(folderName, expected.file);
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
  beforeAll(async () => {
    await log.load('n2k-single-diesel', 'n2k-single-diesel.raw.gz');
    await log.load('n2k-engine-messages', 'boost.raw');
  });

  test('the same engine gives the same samples by its bus and by deltas made of it', async () => {
    // The converter rounds speed to 0.1 rpm; the other quantities pass unrounded.
    const tolerances = [
      ['engineSpeed', 0.05],
      ['oilPressure', 1e-9],
      ['coolantTemperature', 1e-9],
      ['engineHours', 1e-9],
    ] as const;
    for (const [key, tolerance] of tolerances) {
      const bus = await log.samplesOf('yacht-main', key);
      const deltas = await log.samplesOf('delta-main', key);
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
      const boosts = await Promise.all(names.map((unit) => log.samplesOf(unit, 'boostPressure')));
      expect(boosts.map((values) => [...values.values()])).toEqual([[6], [8]]);
    }
  });

  test('values that share a whole second are all in its mean', async () => {
    const lines = gunzipSync(
      readFileSync(join(REAL_LOGS, 'signalk-twin-diesel/signalk-twin-diesel.jsonl.gz')),
    ).toString();
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
      const samples = await log.samplesOf(unit, 'engineSpeed');
      expect([...bySecond.values()].flat().length).toBe(114);
      expect([...samples.keys()]).toEqual([...bySecond.keys()].sort((a, b) => a - b));
      for (const [timeMs, group] of bySecond)
        expect(samples.get(timeMs)).toBeCloseTo(group.reduce((a, b) => a + b, 0) / group.length, 9);
    }
  });
});
