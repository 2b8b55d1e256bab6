import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterEach, beforeEach, describe, expect, test } from 'vitest';
import type { DeadLetter } from '../schemas/dead-letter.ts';
import { deadLetterSchema } from '../schemas/dead-letter.ts';
import { type FleetFile, fleetFileSchema } from '../schemas/fleet-file.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import type { SourceRule } from '../schemas/source-rule.ts';
import type { LogPort } from '../storage/log/port.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { wideRule } from './formats/decode-for-tests.ts';
import { LoadError } from './load-error.ts';
import { type LoadOptions, loadFile } from './load-file.ts';

const nowMs = Date.UTC(2026, 0, 1);
const engine = {
  ratedPowerKw: 330,
  ratedSpeedRpm: 1900,
  displacementL: 13,
  strokes: 4,
  charging: 'single_stage',
  boostControl: 'wastegate',
  cooler: 'air_to_air',
};
const unit = (id: string) => ({
  id,
  name: id,
  kind: 'road',
  duty: 'long_haul',
  place: 'yard',
  engine,
  sensors: {},
  limits: { source: 'none stated' },
});

let folder = '';
let log: LogPort;
beforeEach(() => {
  folder = mkdtempSync(join(tmpdir(), 'ingest-'));
  log = openSqliteLog({ path: join(folder, 'log.db') });
});
afterEach(async () => {
  await log.close();
  rmSync(folder, { recursive: true });
});

function fleetOf(...sources: SourceRule[]): FleetFile {
  return fleetFileSchema.parse({
    version: 1,
    fleet: { name: 'Test' },
    places: [{ id: 'yard', name: 'Yard', kind: 'depot' }],
    units: [unit('truck-1'), unit('truck-2')],
    sources,
  });
}

function put(name: string, content: string | Uint8Array): string {
  const path = join(folder, name);
  writeFileSync(path, content);
  return path;
}

const load = (path: string, more: Partial<LoadOptions> = {}) =>
  loadFile({ path, fleet: fleetOf(wideRule()), log, nowMs, ...more });
const time = (second: number) => new Date(Date.UTC(2024, 4, 1) + second * 1000).toISOString();
const rows = (from: number, to: number) =>
  Array.from({ length: to - from }, (_, i) => `${time(from + i)},${1000 + ((from + i) % 500)},1.5\n`).join('');
const HEAD = 'time,rpm,boost\n';

async function blocks(from: LogPort = log): Promise<SampleBlock[]> {
  const found: SampleBlock[] = [];
  for await (const record of from.scan({ topic: 'samples' })) found.push(record.value);
  return found;
}
async function letters(from: LogPort = log): Promise<DeadLetter[]> {
  const found: DeadLetter[] = [];
  for await (const record of from.scan({ topic: 'dead_letters' })) found.push(deadLetterSchema.parse(record.value));
  return found;
}
const seconds = (found: readonly SampleBlock[]) =>
  found.flatMap((block) => block.t.map((t) => (t - Date.UTC(2024, 4, 1)) / 1000));
const upTo = (count: number) => Array.from({ length: count }, (_, i) => i);

describe('a file', () => {
  test('reaches the log whole and in order, with its refusals beside it', async () => {
    const report = await load(put('a.csv', `${HEAD}${rows(0, 3000)}bad\n${time(3000)},1e999,1.5\n`));
    expect(report).toMatchObject({
      format: 'csv_wide',
      source: 'table',
      units: ['truck-1'],
      rows: 3002,
      accepted: 3001,
      duplicates: 0,
      rejected: { field_count: 1 },
      rejectedValues: { number_unreadable: 1 },
      deadLetters: { kept: 2, countedOnly: 0 },
      signals: {
        engineSpeed: { count: 3000, min: 1000, max: 1499, firstAt: time(0), lastAt: time(2999) },
        boostPressure: { count: 3001, mean: 150 },
      },
    });
    expect(seconds(await blocks())).toEqual(upTo(3001));
    expect(await letters()).toMatchObject([
      { unit: 'truck-1', source: 'a.csv', format: 'csv_wide', position: 3002, code: 'field_count', raw: 'bad' },
      { position: 3003, code: 'number_unreadable', field: 'rpm' },
    ]);
  });

  test('a second time, or under another name, adds nothing', async () => {
    await load(put('a.csv', HEAD + rows(0, 100)));
    const again = await load(put('b.csv', HEAD + rows(0, 100)));
    expect(again).toMatchObject({ rows: 100, accepted: 0, duplicates: 100, isKnown: true });
    expect(seconds(await blocks())).toEqual(upTo(100));
  });

  test('read by a mended rule counts its old rows as duplicates', async () => {
    const path = put('a.csv', HEAD + rows(0, 100));
    await load(path);
    const mended = await load(path, { rule: wideRule({ notAvailable: ['-'] }) });
    expect(mended).toMatchObject({ accepted: 0, duplicates: 100, isKnown: false });
    expect(seconds(await blocks())).toEqual(upTo(100));
  });

  test('that overlaps another adds only what is new', async () => {
    await load(put('a.csv', HEAD + rows(0, 1000)));
    expect(await load(put('b.csv', HEAD + rows(400, 1400)))).toMatchObject({ accepted: 400, duplicates: 600, late: 0 });
    expect(seconds(await blocks())).toEqual(upTo(1400));
  });

  test('of two units goes to each of them', async () => {
    const { unit: _, ...rule } = wideRule({ unitColumn: 'unit' });
    const text = upTo(20)
      .map((i) => `${time(i >> 1)},1200,1.5,truck-${1 + (i % 2)}\n`)
      .join('');
    const report = await load(put('a.csv', `time,rpm,boost,unit\n${text}`), { rule });
    expect(report).toMatchObject({ accepted: 20, units: ['truck-1', 'truck-2'] });
    expect((await blocks()).map((block) => [block.unit, block.t.length])).toEqual([
      ['truck-1', 10],
      ['truck-2', 10],
    ]);
  });

  test('with more refusals than are kept says how many are counted only', async () => {
    const report = await load(put('a.csv', HEAD + 'x\n'.repeat(12_000)));
    expect(report).toMatchObject({
      rejected: { field_count: 12_000 },
      deadLetters: { kept: 10_000, countedOnly: 2000 },
    });
    const kept = await letters();
    expect(kept.length).toBe(10_000);
    expect(new Set(kept.map((letter) => letter.id)).size).toBe(10_000);
  });

  test('that cannot be read with its rule says why in the report', async () => {
    const report = await load(put('a.csv', 'zeit;drehzahl\n1;2\n'));
    expect(report).toMatchObject({ rows: 1, accepted: 0, rejected: { column_missing: 1 } });
    expect(report.problem).toContain('The header has no "time"');
  });
});

describe('gzip', () => {
  test('is known by its first bytes, whatever the name', async () => {
    expect(await load(put('a.csv', gzipSync(HEAD + rows(0, 50))))).toMatchObject({ accepted: 50 });
    expect(await load(put('b.csv.gz', gzipSync(HEAD + rows(50, 60))))).toMatchObject({ accepted: 10 });
  });
  test('that breaks off gives what was read, and one dead letter', async () => {
    const whole = gzipSync(HEAD + rows(0, 20_000));
    const report = await load(put('a.csv.gz', whole.subarray(0, whole.length >> 1)));
    expect(report.accepted).toBeGreaterThan(5000);
    expect(report.problem).toContain('breaks off');
    expect((await letters()).filter((letter) => letter.code === 'file_truncated').length).toBe(1);
    const rest = await load(put('b.csv.gz', whole));
    expect(rest.duplicates).toBeGreaterThanOrEqual(report.accepted - 1);
    expect(seconds(await blocks())).toEqual(upTo(20_000));
  });
  test('that is damaged in the middle gives what came before', async () => {
    const whole = gzipSync(HEAD + rows(0, 20_000));
    whole.fill(0x55, whole.length >> 1, (whole.length >> 1) + 200);
    const report = await load(put('a.csv.gz', whole));
    expect(report.accepted).toBeGreaterThan(5000);
    expect(report.problem).toContain('breaks off');
  });
});

/** A log whose commit fails at the given step, before or after it became durable, as when the process dies there. */
function dyingLog(inner: LogPort, p: { atStep: number; isDurable: boolean }): LogPort {
  let step = 0;
  return {
    ...inner,
    async commit(wanted) {
      step += 1;
      if (step === p.atStep && !p.isDurable) throw new Error('the process dies here');
      await inner.commit(wanted);
      if (step === p.atStep) throw new Error('the process dies here');
    },
  };
}

describe('a crash', () => {
  const text = HEAD + rows(0, 20_000) + 'bad\n'.repeat(3) + rows(19_000, 45_000);
  const steps = [1, 2, 3, 4].flatMap((atStep) => [true, false].map((isDurable) => ({ atStep, isDurable })));
  test.each(steps)('at step $atStep, durable: $isDurable, loses nothing and doubles nothing', async (dying) => {
    const path = put('a.csv', text);
    const whole = openSqliteLog({ path: join(folder, 'whole.db') });
    const wanted = await load(path, { log: whole });
    await expect(load(path, { log: dyingLog(log, dying) })).rejects.toThrow('dies');
    const report = await load(path);
    if (report.isKnown) expect(dying).toEqual({ atStep: 4, isDurable: true });
    else expect(report).toEqual(wanted);
    expect(await blocks()).toEqual(await blocks(whole));
    expect(await letters()).toEqual(await letters(whole));
    await whole.close();
  });
  test('the rows of that file are 46,003, as counted by hand', async () => {
    expect(await load(put('a.csv', text))).toMatchObject({
      rows: 46_003,
      accepted: 45_000,
      duplicates: 1000,
      rejected: { field_count: 3 },
    });
  });
});

describe('a file without a rule', () => {
  const fleet = fleetOf();
  test('is read when its headers are signal keys', async () => {
    const text = `time;engineSpeed;boostPressure [bar]\n${upTo(9)
      .map((i) => `${time(i)};1200,5;1,5\n`)
      .join('')}`;
    const report = await load(put('a.csv', text), { fleet, unit: 'truck-2' });
    expect(report).toMatchObject({
      source: 'self-described',
      units: ['truck-2'],
      accepted: 9,
      signals: { engineSpeed: { mean: 1200.5 }, boostPressure: { mean: 150 } },
    });
  });
  test('is read when it is a bus log', async () => {
    const report = await load(put('a.txt', '(1714521600.000000) can0 18FEF600#FF325AFFFFFFFFFF\n'), {
      fleet,
      unit: 'truck-1',
    });
    expect(report).toMatchObject({ format: 'j1939_candump', signals: { boostPressure: { mean: 100 } } });
  });
  const refused = async (path: string, more: Partial<LoadOptions> = {}) => {
    const error = await load(path, { fleet, ...more }).then(
      () => undefined,
      (reason: unknown) => reason,
    );
    if (!(error instanceof LoadError)) throw new Error(`a LoadError, not ${String(error)}`);
    expect(error.message).toMatch(/\.$/);
    return error.code;
  };
  test('and without a unit is refused with a sentence', async () => {
    expect(await refused(put('a.csv', `time,engineSpeed\n${time(0)},900\n`))).toBe('unit_missing');
  });
  test('that describes nothing is refused with a sentence', async () => {
    expect(await refused(put('a.csv', 'a,b\n1,2\n'), { unit: 'truck-1' })).toBe('no_rule');
    expect(await refused(put('b.bin', Uint8Array.from([0, 255, 3, 200])), { unit: 'truck-1' })).toBe('no_rule');
    expect(await refused(put('c.csv', ''), { unit: 'truck-1' })).toBe('no_rule');
  });
  test('or with a unit that the fleet does not have, is refused', async () => {
    expect(await refused(put('a.csv', HEAD + rows(0, 2)), { rule: wideRule({ unit: 'truck-9' }) })).toBe(
      'unit_unknown',
    );
  });
  test('or with two rules that fit, is refused', async () => {
    const two = fleetOf(wideRule(), wideRule({ id: 'other', files: 'a*' }));
    expect(await refused(put('a.csv', HEAD + rows(0, 2)), { fleet: two })).toBe('rules_overlap');
  });
  test('that is not there, or is a folder, is refused', async () => {
    expect(await refused(join(folder, 'none.csv'))).toBe('file_unreadable');
    expect(await refused(folder)).toBe('file_unreadable');
  });
});

test('two loaders of one unit cannot both take the same rows in', async () => {
  const other = openSqliteLog({ path: join(folder, 'log.db') });
  const path = put('a.csv', HEAD + rows(0, 40_000));
  const loads = await Promise.allSettled([load(path), load(path, { log: other })]);
  expect(loads.some((item) => item.status === 'fulfilled')).toBe(true);
  for (const item of loads)
    if (item.status === 'rejected') expect(item.reason).toMatchObject({ code: 'state_changed' });
  expect(seconds(await blocks())).toEqual(upTo(40_000));
  await other.close();
});

test('progress is told up to the end of the file', async () => {
  const notes: number[] = [];
  const path = put('a.csv', HEAD + rows(0, 20_000));
  await load(path, { onProgress: (note) => notes.push(note.readBytes / note.totalBytes) });
  expect(notes.at(-1)).toBe(1);
});
