// Every number of the expected.json files of the NMEA 2000 logs in test/data: made by a decoder written for that alone in Python,
// and checked there against openly licensed readers. The logs are open captures; see SOURCE.md beside each.
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { type ExpectedStatistics, isoOf, type MarineLog, openMarineLog } from '../test/support/marine-log.ts';
import type { LoadReport } from './load-report.ts';
import type { ReportedQuantity } from './marine-report.ts';
import { expectedFiles } from './real-logs-for-tests.ts';

let log: MarineLog;
beforeAll(() => {
  log = openMarineLog();
});
afterAll(() => log.close());

type ExpectedN2kSignal = ExpectedStatistics & {
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

function expectStatistics(got: ReportedQuantity | undefined, wanted: ExpectedStatistics, startMs: number): void {
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
  let report: LoadReport;
  beforeAll(async () => {
    report = await log.load(folderName, expected.file);
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
    const again = await log.load(folderName, expected.file);
    expect(again).toMatchObject({ rows: report.rows, accepted: 0, duplicates: report.rows, isKnown: true });
  });
});

describe('what goes to the log', () => {
  test('the interleaved fast packets of one sender give each instance its own samples, and the cut-off one none', async () => {
    const port = await log.samplesOf('packets-port', 'fuelRate');
    const starboard = await log.samplesOf('packets-starboard', 'fuelRate');
    // 3.8, 3.6 and 3.5 L/h of instance 0, of which the third is in the next second; 3.5 and 3.3 of instance 1.
    expect([...port.values()]).toEqual([expect.closeTo((3.8 + 3.6) / 2, 9), 3.5]);
    expect([...starboard.values()]).toEqual([expect.closeTo((3.5 + 3.3) / 2, 9)]);
  });

  test('one sender of the sea temperature is read, and fillings with ones are not', async () => {
    const sea = await log.samplesOf('harbour-port', 'seaWaterTemperature');
    // 130312 of sender 36, every other second, once it has spoken; before that 130310, in the first seconds.
    expect(sea.size).toBeGreaterThanOrEqual(32);
    expect(sea.size).toBeLessThanOrEqual(35);
    for (const key of ['fuelRate', 'engineLoad', 'actualTorque'] as const)
      expect((await log.samplesOf('harbour-port', key)).size).toBe(0);
    const torque = await log.samplesOf('battery-main', 'actualTorque');
    expect(torque.size).toBe(0);
    expect((await log.samplesOf('harbour-starboard', 'coolantTemperature')).size).toBeGreaterThan(60);
  });
});
