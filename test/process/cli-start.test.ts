import { spawn } from 'node:child_process';
import { once } from 'node:events';
import { existsSync, readdirSync, rmSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { chargeair, startChargeair, workFolder } from './cli-process.ts';

const root = fileURLToPath(new URL('../../', import.meta.url));
const cwd = workFolder();
const start = () => startChargeair({ args: ['start', '--days', '2', '--port', '0', '--data', 'data'], cwd });
const logs = join(cwd, 'data', 'demo', 'logs-2-days');

describe('chargeair start', () => {
  test('from nothing to an address that answers; what is there then is kept when it is stopped', async () => {
    const demo = start();
    const [, address = ''] = await demo.shows(/(http:\/\/127\.0\.0\.1:\d+\/)/);
    expect((await fetch(address)).status).toBe(200);
    demo.process.kill('SIGTERM');
    expect((await demo.ended).code).toBe(0);
    expect(readdirSync(logs).length).toBeGreaterThan(5);
  });

  test('a second start writes and loads nothing again', async () => {
    const before = readdirSync(logs).map((name) => statSync(join(logs, name)).mtimeMs);
    const demo = start();
    await demo.shows(/http:\/\/127\.0\.0\.1/);
    demo.process.kill('SIGINT');
    const { code, stderr } = await demo.ended;
    expect(code).toBe(0);
    expect(stderr).not.toMatch(/Writing|Loading|Analys/);
    expect(readdirSync(logs).map((name) => statSync(join(logs, name)).mtimeMs)).toEqual(before);
  });

  test('a start that was killed is taken up again', async () => {
    rmSync(join(cwd, 'data'), { recursive: true });
    const demo = start();
    await demo.shows(/Writing/);
    demo.process.kill('SIGKILL');
    await demo.ended;
    expect(existsSync(logs)).toBe(false);
    const again = start();
    await again.shows(/http:\/\/127\.0\.0\.1/);
    again.process.kill('SIGTERM');
    expect((await again.ended).code).toBe(0);
    const { code, stdout } = await chargeair({ args: ['dead-letters', '--counts', '--data', 'data'], cwd });
    expect(code).toBe(0);
    expect(stdout).not.toContain('clock_ahead');
  });

  test('a start that is told to stop while it writes the logs stops at once', async () => {
    const demo = startChargeair({ args: ['start', '--data', 'stopped'], cwd });
    await demo.shows(/Writing/);
    demo.process.kill('SIGTERM');
    expect((await demo.ended).code).toBe(0);
    expect(readdirSync(join(cwd, 'stopped', 'demo'))).toEqual(['logs-120-days-unfinished']);
  });

  test('npm start ends with npm: nothing stays behind that holds the port', async () => {
    const args = ['start', '--', '--days', '1', '--port', '0', '--data', join(cwd, 'npm')];
    const npm = spawn('npm', args, { cwd: root, stdio: ['ignore', 'pipe', 'ignore'] });
    const closed = once(npm.stdout, 'close');
    let stdout = '';
    const address = await new Promise<string>((resolve) => {
      npm.stdout.setEncoding('utf8').on('data', (text: string) => {
        stdout += text;
        const match = stdout.match(/http:\/\/127\.0\.0\.1:\d+\//);
        if (match !== null) resolve(match[0]);
      });
    });
    expect((await fetch(`${address}healthz`)).status).toBe(200);
    npm.kill('SIGTERM');
    await closed;
    await expect(fetch(`${address}healthz`)).rejects.toThrow();
  });

  test.each(['0', '121', 'all'])('%s days are refused', async (days) => {
    expect((await chargeair({ args: ['start', '--days', days], cwd })).code).toBe(2);
  });
});
