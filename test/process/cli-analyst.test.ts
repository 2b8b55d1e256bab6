import { existsSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { beforeAll, describe, expect, test } from 'vitest';
import { demoTruth } from '../../demo/scenario.ts';
import { chargeair, jsonLines, workFolder } from './cli-process.ts';
import { prepareUnit } from './prepared-unit.ts';

// What is truly wrong with the ferry of the demonstration stands in its scenario, which the program never reads.

const cwd = workFolder();
const run = (...args: string[]) => chargeair({ args, cwd });
const [planned] = demoTruth().filter(({ unit }) => unit === 'ferry-5');
const onset = new Date(planned?.onsetMs ?? 0).toISOString();

beforeAll(async () => {
  await prepareUnit({ cwd, unit: 'ferry-5', days: 60 });
  writeFileSync(join(cwd, 'faults.csv'), `unit,fault,from,to\nferry-5,${planned?.fault},${onset},\n`);
});

describe('backtest', () => {
  test('holds settings side by side against known faults, live first, and changes nothing', async () => {
    const before = readFileSync(join(cwd, '.chargeair', 'log.sqlite'));
    const { code, stdout } = await run(
      'backtest',
      '-u',
      'ferry-5',
      '--faults',
      'faults.csv',
      '--try',
      'rate=0.01',
      '--json',
    );
    expect(code).toBe(0);
    const scores = jsonLines(stdout);
    expect(scores).toMatchObject([
      { setting: 'live', detected: 1, missed: 0, upsets: { true: 1, false: 0, unjudged: 0 } },
      { setting: 'rate=0.01', detected: 1 },
    ]);
    const [live, strict] = scores;
    expect(Number(strict?.['medianDelayDays'])).toBeGreaterThanOrEqual(Number(live?.['medianDelayDays']));
    expect(readFileSync(join(cwd, '.chargeair', 'log.sqlite'))).toEqual(before);
  });

  test('without known faults an alarm that nobody looked into is neither true nor false', async () => {
    const { stdout } = await run('backtest', '-u', 'ferry-5', '--json');
    expect(jsonLines(stdout)).toMatchObject([{ upsets: { true: 0, false: 0, unjudged: 1 }, precision: null }]);
  });

  test('writes a page that asks nothing of any server', async () => {
    const { code, stdout } = await run(
      ...[
        'backtest',
        '-u',
        'ferry-5',
        '--faults',
        'faults.csv',
        '--try',
        'clip=2',
        '--table',
        '--report',
        'backtest.html',
      ],
    );
    expect(code).toBe(0);
    expect(stdout).toMatch(/^setting +detected/);
    const page = readFileSync(join(cwd, 'backtest.html'), 'utf8');
    expect(page).toContain('<svg');
    expect(page).not.toMatch(/<script|src=|href="(?!data:)|@import|url\(/);
  });

  test.each([
    ['a setting that is not there', ['--try', 'rat=3'], 2, 'did you mean rate?'],
    ['a value out of range', ['--try', 'clip=0'], 2, 'from 1 to 20'],
    ['a unit that is not there', ['--unit', 'fery-5'], 1, 'did you mean ferry-5?'],
    ['a list that is not there', ['--faults', 'none.csv'], 1, 'none.csv does not exist'],
  ])('%s is refused with a sentence and no data', async (_name, args, exit, words) => {
    const { code, stderr, stdout } = await run('backtest', ...args);
    expect({ code, stdout }).toEqual({ code: exit, stdout: '' });
    expect(stderr).toContain(words);
    expect(stderr).not.toMatch(/^\s+at /m);
  });

  test('every line of a bad list of faults is named', async () => {
    writeFileSync(join(cwd, 'bad.csv'), 'unit,fault,from\nfery-5,intake_restricton,yesterday\n');
    const { code, stderr } = await run('backtest', '--faults', 'bad.csv');
    expect(code).toBe(1);
    for (const words of ['bad.csv:2', 'did you mean ferry-5?', 'did you mean intake_restriction?', 'yesterday'])
      expect(stderr).toContain(words);
  });
});

describe('explain', () => {
  test('takes a finding apart down to samples, from the same samples as the live analysis', async () => {
    const [finding] = jsonLines((await run('findings', '--unit', 'ferry-5')).stdout);
    const id = String(finding?.['id']);
    const { code, stdout } = await run('explain', id, '--json');
    expect(code).toBe(0);
    const explained = JSON.parse(stdout) as { points: unknown[]; samples: { rows: unknown[] } };
    expect(explained).toMatchObject({ basis: 'replayed', finding: { id } });
    expect(explained.points.length).toBeGreaterThan(10);
    expect(explained.samples.rows.length).toBeGreaterThan(2);
    const text = await run('explain', id);
    expect(text.code).toBe(0);
    for (const words of [
      'byte for byte',
      'Pattern of departures',
      'its signature',
      'Samples of the newest judged point',
    ])
      expect(text.stdout).toContain(words);
  });

  test('a finding that is not there is refused by its name', async () => {
    const { code, stderr, stdout } = await run('explain', 'ferry-5.nothing');
    expect({ code, stdout }).toEqual({ code: 1, stdout: '' });
    expect(stderr).toContain('ferry-5.nothing');
  });
});

describe('units', () => {
  test('says of each unit what the analysis has of it', async () => {
    const { code, stdout } = await run('units');
    expect(code).toBe(0);
    const lines = jsonLines(stdout);
    const ferry = lines.find(({ unit }) => unit === 'ferry-5');
    expect(ferry).toMatchObject({ falseFindingsPer100UnitsAndWeek: 1 });
    expect(Number(ferry?.['sharePoints'])).toBeGreaterThan(0.1);
    expect(Number(ferry?.['sharePoints'])).toBeLessThan(1);
    const channels = ferry?.['channels'] as { channel: string; stage: string; since: string | null }[];
    expect(channels).toContainEqual(expect.objectContaining({ channel: 'coolerApproach', stage: 'learnt' }));
    expect(lines.find(({ unit }) => unit === 'truck-07')).toMatchObject({
      lastDataMs: null,
      runningHours: 0,
      points: 0,
    });
    expect((await run('units', '--table')).stdout).toMatch(/^unit +last data/);
  });
});

describe('report', () => {
  test('writes the year of a unit as a page that asks nothing of any server', async () => {
    const { code, stdout } = await run('report', 'ferry-5', '--output', 'ferry.html');
    expect({ code, stdout }).toEqual({ code: 0, stdout: '' });
    const page = readFileSync(join(cwd, 'ferry.html'), 'utf8');
    for (const words of ['Ferry Lissenby', 'Charge-air cooler effectiveness', 'Where it ran', 'Indicators', 'onset'])
      expect(page).toContain(words);
    expect(page).not.toMatch(/<script|src=|href="(?!data:)|@import|url\(/);
  });

  test('a unit without data is refused, and no file is made', async () => {
    const { code, stderr } = await run('report', 'truck-07', '--output', 'truck.html');
    expect(code).toBe(1);
    expect(stderr).toContain('no operating point of truck-07');
    expect(existsSync(join(cwd, 'truck.html'))).toBe(false);
  });
});
