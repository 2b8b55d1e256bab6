import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { chargeair, jsonLines, workFolder } from './cli-process.ts';

// Exit codes: POSIX.1 says 0 for success and above 0 for failure; 2 for a command not understood is common practice.

const root = fileURLToPath(new URL('../../', import.meta.url));
const folder = workFolder();
const COMMANDS = [
  'start',
  'example',
  'check',
  'load',
  'findings',
  'tasks',
  'units',
  'report',
  'explain',
  'backtest',
  'dead-letters',
  'serve',
  'run',
  'signals',
  'schema',
];

/** A folder of its own for one test, so that no ./fleet.yaml of another is found. */
function subfolder(name: string): string {
  const path = join(folder, name);
  mkdirSync(path);
  return path;
}

describe('help and usage', () => {
  test.each(COMMANDS)('%s --help explains itself on stdout', async (command) => {
    const { code, stdout, stderr } = await chargeair({ args: [command, '--help'], cwd: folder });
    expect({ code, stderr: stderr.replace(/^Built .*\n/, '') }).toEqual({ code: 0, stderr: '' });
    expect(stdout).toContain(`Usage: chargeair ${command}`);
  });

  test('the command names all of its subcommands', async () => {
    const { code, stdout } = await chargeair({ args: ['--help'], cwd: folder });
    expect(code).toBe(0);
    for (const command of COMMANDS) expect(stdout).toMatch(new RegExp(`^ {2}${command}\\b`, 'm'));
  });

  test.each([
    ['nothing', []],
    ['a command that is not there', ['lod']],
    ['an option that is not there', ['findings', '--jsn']],
    ['a missing argument', ['load']],
    ['a schema that is not there', ['schema', 'findings']],
    ['a port that is none', ['serve', '--port', 'http']],
    ['a task to close without saying what was found', ['tasks', 'close', 'x', '--who', 'fitter']],
  ])('%s ends with 2, says so on stderr, and prints no data', async (_name, args) => {
    const { code, stdout, stderr } = await chargeair({ args, cwd: folder });
    expect({ code, stdout }).toEqual({ code: 2, stdout: '' });
    expect(stderr).not.toBe('');
    expect(stderr).not.toMatch(/^\s+at /m);
  });

  test('the version is that of package.json', async () => {
    const { version } = JSON.parse(readFileSync(join(root, 'package.json'), 'utf8')) as { version: string };
    expect((await chargeair({ args: ['--version'], cwd: folder })).stdout).toBe(`${version}\n`);
  });
});

describe('example and check', () => {
  test('the example that is written holds, and is never written over a file', async () => {
    const cwd = subfolder('example');
    expect((await chargeair({ args: ['example', '--output', 'fleet.yaml'], cwd })).code).toBe(0);
    const checked = await chargeair({ args: ['check'], cwd });
    expect(checked.code).toBe(0);
    expect(checked.stdout).toMatch(/^fleet\.yaml holds: 2 units/);
    const again = await chargeair({ args: ['example', '--output', 'fleet.yaml'], cwd });
    expect(again.code).toBe(1);
    expect(again.stderr).toContain('exists already');
  });

  test('a bad fleet file is refused with file, line and field, and no data', async () => {
    const cwd = subfolder('bad');
    const example = (await chargeair({ args: ['example'], cwd })).stdout;
    writeFileSync(join(cwd, 'mine.yaml'), example.replace('kind: vessel', 'kind: boat'));
    const line = example.slice(0, example.indexOf('kind: vessel')).split('\n').length;
    const { code, stdout, stderr } = await chargeair({ args: ['check', '--config', 'mine.yaml'], cwd });
    expect({ code, stdout }).toEqual({ code: 1, stdout: '' });
    expect(stderr).toContain(`mine.yaml:${line}:`);
    expect(stderr).toContain('units[1].kind');
    const [report] = jsonLines((await chargeair({ args: ['check', 'mine.yaml', '--json'], cwd })).stdout);
    expect(report).toMatchObject({ ok: false, faults: [{ line, field: 'units[1].kind' }] });
  });

  test('the fleet file is that of --config, else of the environment, else ./fleet.yaml, else of the demonstration', async () => {
    const cwd = subfolder('order');
    const name = async (p: { args?: string[]; env?: Record<string, string> }) =>
      (
        await chargeair({ args: ['check', ...(p.args ?? [])], cwd, ...(p.env === undefined ? {} : { env: p.env }) })
      ).stdout.split(' holds')[0];
    expect(await name({})).toBe('the fleet of the demonstration');
    for (const file of ['fleet.yaml', 'b.yaml', 'c.yaml']) await chargeair({ args: ['example', '-o', file], cwd });
    expect(await name({})).toBe('fleet.yaml');
    expect(await name({ env: { CHARGEAIR_CONFIG: 'b.yaml' } })).toBe('b.yaml');
    expect(await name({ args: ['--config', 'c.yaml'], env: { CHARGEAIR_CONFIG: 'b.yaml' } })).toBe('c.yaml');
  });
});

describe('data on stdout', () => {
  test('a list in a pipe is one JSON object a line', async () => {
    const { code, stdout } = await chargeair({ args: ['signals'], cwd: folder });
    expect(code).toBe(0);
    expect(jsonLines(stdout)).toContainEqual(
      expect.objectContaining({ signal: 'boostPressure', unit: 'kPa', reference: 'gauge' }),
    );
  });

  test('npm run -s adds nothing to stdout', () => {
    const { status, stdout } = spawnSync('npm', ['run', '-s', 'chargeair', '--', 'schema', 'finding'], {
      cwd: root,
      encoding: 'utf8',
    });
    expect(status).toBe(0);
    expect(JSON.parse(stdout)).toMatchObject({ title: 'Finding', $id: 'urn:chargeair:schema:finding:1' });
  });

  test('a reader that closes the pipe early is no failure', () => {
    const line = `node '${join(root, 'cli/bootstrap.mjs')}' chargeair signals --json | head -n 1`;
    const { status, stdout, stderr } = spawnSync('bash', ['-o', 'pipefail', '-c', line], {
      cwd: folder,
      encoding: 'utf8',
    });
    expect({ status, lines: stdout.split('\n').length - 1, stderr }).toEqual({ status: 0, lines: 1, stderr: '' });
  });

  test.each(['findings', 'tasks', 'dead-letters'])(
    '%s without data says what to do, and makes no folder',
    async (command) => {
      const { code, stdout, stderr } = await chargeair({ args: [command, '--data', 'nowhere'], cwd: folder });
      expect({ code, stdout }).toEqual({ code: 1, stdout: '' });
      expect(stderr).toContain('nowhere holds no data yet');
      expect((await chargeair({ args: [command, '--data', 'nowhere'], cwd: folder })).stderr).toContain(
        'nowhere holds no data yet',
      );
    },
  );
});

describe('the way from a clone', () => {
  const bootstrap = join(root, 'cli/bootstrap.mjs');

  test('a Node.js that is too old is named, with what is needed', () => {
    const old = "data:text/javascript,Object.defineProperty(process.versions,'node',{value:'18.20.0'})";
    const { status, stdout, stderr } = spawnSync(process.execPath, ['--import', old, bootstrap, 'build'], {
      encoding: 'utf8',
    });
    expect({ status, stdout }).toEqual({ status: 1, stdout: '' });
    expect(stderr).toBe(
      'chargeair needs Node.js 20.12 or newer; this is 18.20.0. Install a newer Node.js and run it again.\n',
    );
  });

  test('a mode that is not there ends with 2', () => {
    const { status, stdout } = spawnSync(process.execPath, [bootstrap, 'nothing'], { encoding: 'utf8' });
    expect({ status, stdout }).toEqual({ status: 2, stdout: '' });
  });

  test('a second build has nothing to do', () => {
    spawnSync(process.execPath, [bootstrap, 'build']);
    const { status, stdout, stderr } = spawnSync(process.execPath, [bootstrap, 'build'], { encoding: 'utf8' });
    expect({ status, stdout, stderr }).toEqual({ status: 0, stdout: '', stderr: '' });
  });
});
