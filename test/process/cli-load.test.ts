import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { describe, expect, test } from 'vitest';
import { chargeair, jsonLines, startChargeair, workFolder } from './cli-process.ts';

// Statistics are worked out by hand beside each row; units by definition: 1 bar = 100 kPa (BIPM, SI brochure, table 8).

const cwd = workFolder();
const FLEET = `version: 1
fleet: { name: Test fleet }
places: [{ id: yard, name: Yard, kind: depot }]
units:
  - id: digger-1
    name: Digger 1
    kind: mobile_plant
    duty: excavator
    place: yard
    engine: { ratedPowerKw: 200, ratedSpeedRpm: 1900, displacementL: 7.2, strokes: 4, charging: single_stage, boostControl: wastegate, cooler: air_to_air }
    sensors: { boostPressure: { reference: gauge } }
    limits: { source: Engine manual }
sources:
  - id: logger
    files: "digger-*.csv*"
    format: csv_wide
    unit: digger-1
    time: { column: time }
    columns:
      engineSpeed: { column: rpm }
      boostPressure: { column: boost, unit: bar, reference: gauge }
`;
const ROWS = [
  'time,rpm,boost',
  '2026-03-01T06:00:00Z,800,0.0',
  '2026-03-01T06:00:01Z,1000,0.5',
  '2026-03-01T06:00:02Z,1500,1.0',
  '2026-03-01T06:00:03Z,fast,1.5',
  '2026-03-01T06:00:04Z,1700,1.5',
  '',
].join('\n');

writeFileSync(join(cwd, 'fleet.yaml'), FLEET);
writeFileSync(join(cwd, 'digger-march.csv'), ROWS);

describe('chargeair load', () => {
  test('says of each file what was accepted, refused and seen, in canonical units', async () => {
    const { code, stdout, stderr } = await chargeair({ args: ['load', 'digger-march.csv', '--json'], cwd });
    const [report, ...more] = jsonLines(stdout);
    expect(more).toEqual([]);
    expect(report).toMatchObject({ format: 'csv_wide', rows: 5, duplicates: 0 });
    expect(String(report?.['file'])).toContain('digger-march.csv');
    const signals = report?.['signals'] as Record<string, Record<string, unknown>>;
    expect(signals['engineSpeed']).toMatchObject({
      count: 4,
      min: 800,
      max: 1700,
      first: 800,
      last: 1700,
      firstAt: '2026-03-01T06:00:00.000Z',
      lastAt: '2026-03-01T06:00:04.000Z',
    });
    expect(signals['engineSpeed']?.['mean']).toBeCloseTo((800 + 1000 + 1500 + 1700) / 4, 9);
    expect(signals['boostPressure']).toMatchObject({ count: 5, min: 0, max: 150 });
    expect(report).toMatchObject({ accepted: 5, rejected: {}, rejectedValues: { number_unreadable: 1 } });
    // One value was refused, which the exit code says; the rest is in.
    expect(code).toBe(1);
    expect(stderr).not.toContain('    at ');
  });

  test('keeps what was refused, with its line and reason', async () => {
    const { code, stdout } = await chargeair({ args: ['dead-letters'], cwd });
    expect(code).toBe(0);
    expect(jsonLines(stdout)).toMatchObject([
      { unit: 'digger-1', position: 5, code: 'number_unreadable', field: 'rpm' },
    ]);
    const counts = jsonLines((await chargeair({ args: ['dead-letters', '--counts'], cwd })).stdout);
    expect(counts).toMatchObject([{ code: 'number_unreadable', count: 1 }]);
  });

  test('takes the same file in only once, packed or not', async () => {
    writeFileSync(join(cwd, 'digger-again.csv.gz'), gzipSync(ROWS));
    for (const file of ['digger-march.csv', 'digger-again.csv.gz']) {
      const [report] = jsonLines((await chargeair({ args: ['load', file, '--json'], cwd })).stdout);
      expect(report).toMatchObject({ accepted: 0 });
      expect(Number(report?.['duplicates'])).toBeGreaterThan(0);
    }
  });

  test.each([
    ['a file that is not there', 'digger-none.csv'],
    ['a file that no rule is for', 'stranger.txt'],
    ['a folder', '.'],
  ])('%s is named with a sentence, and the others are still loaded', async (_name, file) => {
    writeFileSync(join(cwd, 'stranger.txt'), 'hello');
    const { code, stdout, stderr } = await chargeair({ args: ['load', file, 'digger-march.csv', '--json'], cwd });
    expect(code).toBe(1);
    expect(stderr).toContain(file);
    expect(stderr).not.toContain('    at ');
    expect(jsonLines(stdout).map((report) => String(report['file']))).toContainEqual(
      expect.stringContaining('digger-march.csv'),
    );
  });

  test('leaves the fleet with no findings where there is nothing to find', async () => {
    const { code, stdout } = await chargeair({ args: ['findings'], cwd });
    expect({ code, stdout }).toEqual({ code: 0, stdout: '' });
  });
});

describe('chargeair serve', () => {
  test('prints an address that answers, keeps to this machine, and stops when told', async () => {
    const server = startChargeair({ args: ['serve', '--port', '0'], cwd });
    const [, address = ''] = await server.shows(/(http:\/\/127\.0\.0\.1:\d+\/)/);
    expect((await fetch(`${address}healthz`)).status).toBe(200);
    expect(await (await fetch(address)).text()).toContain('Digger 1');
    server.process.kill('SIGTERM');
    const { code, stderr } = await server.ended;
    expect(code).toBe(0);
    expect(stderr).toContain('Stopping.');
  });

  test('takes the next port when the usual one is in use, and says so', async () => {
    const first = startChargeair({ args: ['serve'], cwd });
    const [, firstPort] = await first.shows(/http:\/\/127\.0\.0\.1:(\d+)\//);
    const second = startChargeair({ args: ['serve'], cwd });
    const [, secondPort] = await second.shows(/http:\/\/127\.0\.0\.1:(\d+)\//);
    expect(Number(secondPort)).toBeGreaterThan(Number(firstPort));
    const refused = await chargeair({ args: ['serve', '--port', String(firstPort)], cwd });
    expect(refused.code).toBe(1);
    first.process.kill('SIGINT');
    second.process.kill('SIGTERM');
    expect([(await first.ended).code, (await second.ended).code]).toEqual([0, 0]);
    expect((await second.ended).stderr).toContain(`Port ${firstPort} is in use`);
  });
});

describe('chargeair run', () => {
  test('analyses what another process loads, and stops when told', async () => {
    const runner = startChargeair({ args: ['run'], cwd });
    await runner.shows(/Analysing what arrives/);
    writeFileSync(join(cwd, 'digger-april.csv'), ROWS.replaceAll('2026-03', '2026-04'));
    const loaded = await chargeair({ args: ['load', 'digger-april.csv', '--json', '--no-analyse'], cwd });
    expect(jsonLines(loaded.stdout)).toHaveLength(1);
    runner.process.kill('SIGTERM');
    expect((await runner.ended).code).toBe(0);
  });
});

describe('a file of no use', () => {
  test('a log that is no database of ours is refused with a sentence', () => {
    writeFileSync(
      join(cwd, 'log.sqlite'),
      'this is no database, but it is long enough to be looked at as one'.repeat(20),
    );
    return chargeair({ args: ['findings', '--data', '.'], cwd }).then(({ code, stdout, stderr }) => {
      expect({ code, stdout }).toEqual({ code: 1, stdout: '' });
      expect(stderr).toContain('log.sqlite');
      expect(stderr).not.toContain('    at ');
    });
  });
});
