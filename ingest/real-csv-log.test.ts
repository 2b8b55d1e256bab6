// Every number of the expected.json of the open CSV log in test/data: made by a decoder written for that alone in Python,
// and checked there against pandas. See SOURCE.md beside it.
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { parse as parseCsv } from 'csv-parse/sync';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { LogPort } from '../storage/log/port.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { loadFile } from './load-file.ts';
import type { LoadReport } from './load-report.ts';
import { blocksOf, REAL_LOGS as data, expectedFiles, realFleet as fleet } from './real-logs-for-tests.ts';

const nowMs = Date.UTC(2026, 0, 1);

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

type ExpectedColumn = {
  column: string;
  values: number;
  min: number;
  max: number;
  mean: number;
  firstValues: number[];
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
          first: expect.closeTo((wanted.firstValues[0] ?? 0) * factor, 6),
          last: expect.any(Number),
          firstAt: iso(wanted.firstSeconds),
          lastAt: iso(wanted.lastSeconds),
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
      firstAt: iso(wanted?.firstSeconds ?? ''),
      lastAt: iso(wanted?.lastSeconds ?? ''),
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
    for (const block of await blocksOf(log, 'car-log')) {
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
