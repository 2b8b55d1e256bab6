import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import { fleetFileSchema } from '../schemas/fleet-file.ts';
import { demoUnit } from './scenario.ts';
import { demoFleetYaml, writeDemoLogs } from './write-logs.ts';
import { fixed } from './write-number.ts';
import { createLocalTime } from './write-time.ts';

let folder = '';
let files: string[] = [];
const text = (start: string): string => {
  const path = files.find((file) => basename(file).startsWith(start));
  if (path === undefined) throw new Error(`no file ${start}`);
  return gunzipSync(readFileSync(path)).toString('utf8');
};

beforeAll(async () => {
  folder = mkdtempSync(join(tmpdir(), 'demo-logs-'));
  ({ files } = await writeDemoLogs({ folder, days: 4, units: ['truck-07', 'truck-23', 'ferry-5', 'cargo-2'] }));
});
afterAll(() => rmSync(folder, { recursive: true }));

describe('the logs of the demonstration', () => {
  test('one file a unit and month', () => {
    expect(files.map((file) => basename(file)).sort()).toEqual([
      'cargo-2_2026-07.csv.gz',
      'ferry-5_2026-07.csv.gz',
      'truck-07_2026-07.log.gz',
      'truck-23_2026-07.csv.gz',
    ]);
  });

  test('a caller that throws in its progress stops the writing and sees its own error', async () => {
    const stop = new Error('stopped');
    const other = mkdtempSync(join(tmpdir(), 'demo-logs-'));
    const writing = writeDemoLogs({
      folder: other,
      days: 4,
      units: ['cargo-2'],
      onProgress: () => {
        throw stop;
      },
    });
    await expect(writing).rejects.toBe(stop);
    rmSync(other, { recursive: true });
  });

  test('a folder that cannot be made is an error of the file system', async () => {
    await expect(writeDemoLogs({ folder: join(files[0] ?? '', 'below'), days: 1 })).rejects.toThrow(/ENOTDIR|EEXIST/);
  });

  test('a decimal-comma log has its mark, its line ends and local time', () => {
    const lines = text('truck-23').split('\r\n');
    expect(lines[0]?.startsWith('\ufeffDate and time;')).toBe(true);
    expect(lines[1]).toMatch(/^\d\d\.07\.2026 \d\d:\d\d:\d\d;\d+,\d;/);
  });

  test('a long log names channel, value and unit in each row', () => {
    const lines = text('ferry-5').split('\n');
    expect(lines[0]).toBe('time;channel;value;unit');
    expect(lines[1]).toMatch(/^2026-07-04T\d\d:\d\d:\d\dZ;ME1\.N;\d+\.\d;rpm$/);
  });

  test('an absolute receiver pressure stands a barometer above gauge', () => {
    const [head = '', first = ''] = text('cargo-2').split('\n');
    const column = head.split(';').indexOf('Receiver pressure kPa abs');
    // The engine stands: the receiver is at the barometer.
    expect(Number(first.split(';')[column])).toBeGreaterThan(95);
    expect(Number(first.split(';')[column])).toBeLessThan(106);
  });

  test('bus frames carry 8 bytes, and sensors not fitted send not-available bytes', () => {
    const lines = text('truck-07').trimEnd().split('\n');
    for (const line of lines.slice(0, 500)) expect(line).toMatch(/^\(\d{10}\.\d{6}\) can0 [0-9A-F]{8}#[0-9A-F]{16}$/);
    const inlet = lines.find((line) => line.includes(' 18FEF600#'));
    // SAE J1939 PGN 65270: byte 1 (trap inlet pressure) and byte 4 (air inlet pressure) have no sensor here.
    expect(inlet?.slice(-16, -14)).toBe('FF');
    expect(inlet?.slice(-10, -8)).toBe('FF');
  });

  // SAE J1939-21: announce 0x20, size, packets, PGN; packets numbered from 1, 7 bytes each. J1939-73: 4 bytes a code.
  test('two trouble codes travel as one announced broadcast', () => {
    const lines = text('truck-07').split('\n');
    const at = lines.findIndex((line) => line.includes(' 1CECFF00#'));
    const bytes = (line = '') => (line.split('#')[1]?.match(/../g) ?? []).map((pair) => Number.parseInt(pair, 16));
    const announce = bytes(lines[at]);
    expect(announce[0]).toBe(0x20);
    expect((announce[5] ?? 0) + (announce[6] ?? 0) * 256).toBe(65226);
    const payload = [...bytes(lines[at + 1]).slice(1), ...bytes(lines[at + 2]).slice(1)].slice(0, announce[1]);
    const spnOf = (first: number) =>
      (payload[first] ?? 0) + (payload[first + 1] ?? 0) * 256 + ((payload[first + 2] ?? 0) >> 5) * 65_536;
    expect([spnOf(2), (payload[4] ?? 0) & 31, spnOf(6), (payload[8] ?? 0) & 31]).toEqual([1569, 31, 168, 18]);
  });

  // SAE J1939-71 (place, scale and offset from public decoder tables).
  test('boost and charge-air temperature in a frame lie where a loaded truck has them', () => {
    const frames = text('truck-07').match(/18FEF600#[0-9A-F]{16}/g) ?? [];
    const boosts = frames.map((frame) => Number.parseInt(frame.slice(11, 13), 16) * 2);
    const temperatures = frames.map((frame) => Number.parseInt(frame.slice(13, 15), 16) - 40);
    expect(Math.max(...boosts.filter((kpa) => kpa < 500))).toBeGreaterThan(140);
    expect(Math.max(...boosts.filter((kpa) => kpa < 500))).toBeLessThan(200);
    expect(Math.max(...temperatures)).toBeLessThan(80);
  });

  test('the fleet file holds, and reads every column that is written', () => {
    const checked = fleetFileSchema.safeParse(parse(demoFleetYaml()));
    expect(checked.error?.issues ?? []).toEqual([]);
    for (const source of checked.data?.sources ?? []) {
      if (!('columns' in source) || source.unit === undefined) continue;
      const fitted = demoUnit(source.unit).sensors.map((fit) => fit.key);
      expect(Object.keys(source.columns).sort()).toEqual([...fitted].sort());
    }
  });
});

describe('writing of numbers and times', () => {
  test('fixed agrees with the language for every count of decimals', () => {
    for (const value of [0, 0.04, -0.04, 1.25, -3.999, 12.3456, 100.05, 65_535]) {
      for (const decimals of [0, 1, 2, 3] as const) {
        expect(Number(fixed(value, decimals, '.'))).toBeCloseTo(
          Number(value.toFixed(decimals)),
          decimals === 0 ? 0 : decimals - 1,
        );
      }
    }
    expect(fixed(-0.01, 1, '.')).toBe('0.0');
    expect(fixed(7.5, 2, ',')).toBe('7,50');
  });

  // Central European summer time ends on the last Sunday of October at 01:00 UTC (EU directive 2000/84/EC).
  test('local time follows the change of clocks', () => {
    const write = createLocalTime('Europe/Berlin');
    expect(write(Date.UTC(2026, 9, 25, 0, 59, 50))).toBe('25.10.2026 02:59:50');
    expect(write(Date.UTC(2026, 9, 25, 1, 0, 0))).toBe('25.10.2026 02:00:00');
  });
});
