import { mkdirSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { openSqliteLog } from '../../storage/log/sqlite.ts';
import { chargeair, type Running, startChargeair, workFolder } from './cli-process.ts';

// What must hold: an answer of 200 says that the reading is kept, whatever happens to the process afterwards.
// Readings are invented.

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
  - { id: bus, files: "*.can", format: j1939_candump, unit: digger-1 }
  - { id: logger, files: "digger-*.csv", format: csv_wide, unit: digger-1, time: { column: time }, columns: { engineSpeed: { column: rpm } } }
live:
  http: { port: 0, tokensFile: tokens.txt, sources: [{ id: gate }] }
  folders: [{ id: drop, path: drop, settleSeconds: 0, pollSeconds: 0.1 }]
`;
writeFileSync(join(cwd, 'fleet.yaml'), FLEET);
mkdirSync(join(cwd, 'drop'));
const START_MS = Date.UTC(2026, 2, 1, 6);

async function timesIn(folder: string): Promise<number[]> {
  const log = openSqliteLog({ path: join(cwd, folder, 'log.sqlite') });
  const times: number[] = [];
  for await (const { value } of log.scan({ topic: 'samples' })) times.push(...value.t);
  await log.close();
  return times.sort((a, b) => a - b);
}

async function makeToken(): Promise<string> {
  const { code, stdout, stderr } = await chargeair({ args: ['listen', '--make-token', 'gate'], cwd });
  expect(code).toBe(0);
  expect(stderr).toContain('shown once');
  return stdout.trim();
}

function pipeIn(p: { data: string; text: string }): Running {
  const args = ['listen', '--port', '0', '--data', p.data, '--candump', '-', '--source', 'bus'];
  return startChargeair({ args, cwd, input: p.text });
}

function sendTo(p: { url: string; token: string; second: number }): Promise<number> {
  const t = START_MS + p.second * 1000;
  const body = JSON.stringify({ version: 1, unit: 'digger-1', reading: { t, signals: { oilPressure: 300 } } });
  const headers = { authorization: `Bearer ${p.token}`, 'content-type': 'application/json' };
  return fetch(p.url, { method: 'POST', headers, body }).then(
    ({ status }) => status,
    () => 0,
  );
}

describe('chargeair listen', () => {
  test('takes in from every source of the fleet file, serves the pages, and drains when told to stop', async () => {
    const token = await makeToken();
    const running = startChargeair({ args: ['listen', '--port', '0', '--data', 'one'], cwd });
    const [, url = ''] = await running.shows(/takes samples at (\S+)\./);
    const [, pages = ''] = await running.shows(/serves 1 units at (\S+)/);
    expect((await fetch(pages)).status).toBe(200);
    writeFileSync(join(cwd, 'drop', 'digger-a.csv'), 'time,rpm\n2026-04-01T06:00:00Z,800\n');
    await running.shows(/digger-a\.csv: 1 rows, 1 accepted/);
    const sent: Promise<number>[] = [];
    for (let second = 0; second < 60; second += 1) sent.push(sendTo({ url, token, second }));
    await sent[30];
    running.process.kill('SIGTERM');
    const statuses = await Promise.all(sent);
    const { code, stderr } = await running.ended;
    expect([code, stderr.includes('bug in chargeair')]).toEqual([0, false]);
    const kept = new Set(await timesIn('one'));
    expect(statuses.filter((status) => status === 200).length).toBeGreaterThan(0);
    for (const [second, status] of statuses.entries())
      if (status === 200) expect(kept).toContain(START_MS + second * 1000);
    expect(kept).toContain(Date.UTC(2026, 3, 1, 6));
  });

  test('what was answered with 200 survives the death of the process, and is there once', async () => {
    const token = await makeToken();
    const first = startChargeair({ args: ['listen', '--port', '0', '--data', 'two'], cwd });
    const [, url = ''] = await first.shows(/takes samples at (\S+)\./);
    const accepted: number[] = [];
    for (let second = 0; second < 80; second += 1) {
      if (second === 50) first.process.kill('SIGKILL');
      if ((await sendTo({ url, token, second })) === 200) accepted.push(START_MS + second * 1000);
    }
    await first.ended;
    expect(accepted.length).toBeGreaterThanOrEqual(50);
    const second = startChargeair({ args: ['listen', '--port', '0', '--data', 'two'], cwd });
    const [, again = ''] = await second.shows(/takes samples at (\S+)\./);
    for (let i = 0; i < 80; i += 1) expect(await sendTo({ url: again, token, second: i })).toBe(200);
    second.process.kill('SIGTERM');
    expect((await second.ended).code).toBe(0);
    expect(await timesIn('two')).toEqual(Array.from({ length: 80 }, (_, i) => START_MS + i * 1000));
  });

  test('a bus on stdin is taken in, and one that cannot be read ends the command with a sentence', async () => {
    // SAE J1939-71: PGN 61444, engine speed in bytes 4 and 5, 0.125 rpm a bit: 0x2EE0 are 1500 rpm.
    const good = pipeIn({ data: 'bus', text: `(${START_MS / 1000}.000000) can0 0CF00400#FFFFFFE02EFFFFFF\n` });
    await good.shows(/the pipe has ended/);
    good.process.kill('SIGTERM');
    expect((await good.ended).code).toBe(0);
    expect(await timesIn('bus')).toEqual([START_MS]);
    const bad = await pipeIn({ data: 'bus-2', text: '(12.000000) can0 0CF00400#FFFFFFE02EFFFFFF\n' }).ended;
    expect([bad.code, bad.stderr.includes('bug in chargeair')]).toEqual([1, false]);
    expect(bad.stderr).toContain('give startsAt');
  });

  test('says what is missing', async () => {
    const unknown = await chargeair({ args: ['listen', '--make-token', 'nobody'], cwd });
    expect([unknown.code, unknown.stderr]).toEqual([1, expect.stringContaining('it has gate')]);
    const pipe = await chargeair({ args: ['listen', '--candump', '-', '--source', 'logger', '--data', 'three'], cwd });
    expect([pipe.code, pipe.stderr]).toEqual([1, expect.stringContaining('no source rule for candump text')]);
  });
});
