// Every number of the expected.json of the open bus logs in test/data: made by a decoder written for that alone in Python,
// and checked there against python-can with cantools. See SOURCE.md beside each.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import type { LogPort } from '../storage/log/port.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { loadFile } from './load-file.ts';
import type { LoadReport } from './load-report.ts';
import { blocksOf, REAL_LOGS as data, expectedFiles, realFleet as fleet } from './real-logs-for-tests.ts';

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
  firstValues: number[];
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
        first: item.firstValues[0] === undefined ? null : expect.closeTo(item.firstValues[0], 5),
        firstAt: iso(item.firstTimestamp),
        lastAt: iso(item.lastTimestamp),
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
    const blocks = await blocksOf(log, report.source);
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
    const before = (await blocksOf(log, report.source)).length;
    const again = await loadFile({ path: join(data, folderName, expected.file), fleet, log, nowMs });
    expect(again).toMatchObject({
      rows: expected.lines,
      accepted: 0,
      duplicates: expected.lines,
      rejected: {},
      isKnown: true,
    });
    expect((await blocksOf(log, report.source)).length).toBe(before);
  });
});
