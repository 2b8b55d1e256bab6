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
async function writeAndDie(path: string, steps: number): Promise<number> {
  const script = join(import.meta.dirname, 'log-writer.ts');
  const writer = spawn(process.execPath, ['--import', 'tsx', script, path], { stdio: ['ignore', 'pipe', 'pipe'] });
  let said = '';
  let complaint = '';
  writer.stderr.on('data', (piece: Buffer) => {
    complaint += piece.toString();
  });
  writer.stdout.on('data', (piece: Buffer) => {
    said += piece.toString();
    if (said.split('\n').length > steps) writer.kill('SIGKILL');
  });
  const [, signal] = await once(writer, 'close');
  expect({ signal, complaint }).toEqual({ signal: 'SIGKILL', complaint: '' });
  // What stands behind the last line end may be half a number.
  return Number(said.split('\n').at(-2));
}

test('after kill -9 everything acknowledged is there, every step is whole, and work goes on', async () => {
  const path = join(folder, 'log.sqlite');
  let acknowledged = 0;
  for (let death = 1; death <= DEATHS; death += 1) {
    const last = await writeAndDie(path, 20 + death * 7);
    expect(last).toBeGreaterThan(acknowledged);
    acknowledged = last;

    const log = openSqliteLog({ path });
    const count = Number((await log.states({ group: 'writer', keys: ['count'] })).get('count')?.value);
    // The last step may have been durable without its acknowledgement having come through, but never the other way.
    expect(count).toBeGreaterThanOrEqual(acknowledged);
    for (const unit of ['left', 'right']) {
      const values = (await collect(log.scan({ topic: 'samples', key: unit }))).map(({ value }) => value);
      expect(values).toStrictEqual(
        Array.from({ length: count }, (_, i) => samples({ unit, mark: i + 1, length: 50 }).value),
      );
    }
    await log.close();
  }
});
