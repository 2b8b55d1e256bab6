import { execFile } from 'node:child_process';
import { randomUUID } from 'node:crypto';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { promisify } from 'node:util';
import { describe, expect, inject, test } from 'vitest';
import { temporaryFolder } from '../contract/contract.ts';
import { makeBucket } from './influx-server.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const run = promisify(execFile);

describe('commands on stores that are no files', () => {
  const folder = temporaryFolder();

  test('read and write them by their addresses, and end when they are done', async () => {
    const bucket = randomUUID().slice(0, 8);
    const { url, org, token } = inject('influx');
    await makeBucket({ url, org, token, bucket });
    const stores = [
      `--log=kafka://${inject('kafkaAddress')}/${bucket}?partitions=6`,
      `--history=influx+${url}/${bucket}?org=${org}`,
      `--data=${join(folder, 'unused')}`,
      `--config=${join(root, 'test/data/fleet.yaml')}`,
    ];
    // A process that kept a connection open would be cut off here, which fails.
    const chargeair = (...args: string[]) =>
      run(process.execPath, [join(root, 'node_modules/tsx/dist/cli.mjs'), join(root, 'cli/main.ts'), ...args], {
        cwd: root,
        env: { ...process.env, CHARGEAIR_HISTORY_TOKEN: token },
        timeout: 60_000,
      });
    const early = await chargeair('findings', ...stores).catch((error: { stderr: string }) => error);
    expect(early.stderr).toContain('holds no log');
    const drive = join(root, 'test/data/csv-obd-diesel/obd-diesel-drive.csv.gz');
    const loaded = await chargeair('load', ...stores, drive);
    expect(loaded.stderr + loaded.stdout).toContain('obd-diesel-drive.csv.gz');
    const again = await chargeair('load', ...stores, drive);
    expect(again.stderr + again.stdout).toMatch(/ 0 accepted/);
    for (const command of ['findings', 'dead-letters', 'tasks']) await chargeair(command, ...stores, '--json');
  });
});
