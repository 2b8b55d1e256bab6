import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { openSqliteLog } from '../../storage/log/sqlite.ts';
import { collect } from '../contract/contract.ts';
import { samples } from '../contract/records.ts';

const DEATHS = 5;
const folder = mkdtempSync(join(tmpdir(), 'chargeair-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));

/** Lets a writer run until it has acknowledged some steps, kills it in the middle of work, and returns the last of them. */
async function writeAndDie(p: { path: string; name: string; steps: number }): Promise<number> {
  const script = join(import.meta.dirname, 'log-writer.ts');
  const writer = spawn(process.execPath, ['--import', 'tsx', script, p.path, p.name], {
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  let said = '';
  let complaint = '';
  writer.stderr.on('data', (piece: Buffer) => {
    complaint += piece.toString();
  });
  writer.stdout.on('data', (piece: Buffer) => {
    said += piece.toString();
    if (said.split('\n').length > p.steps) writer.kill('SIGKILL');
  });
  const [, signal] = await once(writer, 'close');
  expect({ signal, complaint }).toEqual({ signal: 'SIGKILL', complaint: '' });
  // What stands behind the last line end may be half a number.
  return Number(said.split('\n').at(-2));
}

/** Checks that the log holds every step that a writer was told of, and no part of a step. */
async function expectWhole(p: { path: string; name: string; acknowledged: number }): Promise<void> {
  const log = openSqliteLog({ path: p.path });
  const count = Number((await log.states({ group: p.name, keys: ['count'] })).get('count')?.value);
  // The last step may have been durable without its acknowledgement having come through, but never the other way.
  expect(count).toBeGreaterThanOrEqual(p.acknowledged);
  for (const unit of [`${p.name}-left`, `${p.name}-right`]) {
    const values = (await collect(log.scan({ topic: 'samples', key: unit }))).map(({ value }) => value);
    const expected = Array.from({ length: count }, (_, i) => samples({ unit, mark: i + 1, length: 50 }).value);
    expect(values).toStrictEqual(expected);
  }
  await log.close();
}

test('after kill -9 everything acknowledged is there, every step is whole, and work goes on', async () => {
  const path = join(folder, 'log.sqlite');
  const name = 'alone';
  let acknowledged = 0;
  for (let death = 1; death <= DEATHS; death += 1) {
    const last = await writeAndDie({ path, name, steps: 20 + death * 7 });
    expect(last).toBeGreaterThan(acknowledged);
    acknowledged = last;
    await expectWhole({ path, name, acknowledged });
  }
});

test('two processes that make and write one log at the same time lose nothing of each other', async () => {
  const path = join(folder, 'shared.sqlite');
  const names = ['first', 'second'];
  const counts = await Promise.all(names.map((name) => writeAndDie({ path, name, steps: 60 })));
  for (const [i, name] of names.entries()) await expectWhole({ path, name, acknowledged: counts[i] ?? 0 });
});
