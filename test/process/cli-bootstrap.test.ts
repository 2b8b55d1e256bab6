import { spawnSync } from 'node:child_process';
import { chmodSync, cpSync, existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { delimiter, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { workFolder } from './cli-process.ts';

// A clone in small: the bootstrap, a program of two lines, and a stand-in for npm that puts the bundler's own package
// where `npm ci` would, records that it was called, and speaks on stdout as npm does.

const root = fileURLToPath(new URL('../../', import.meta.url));
const folder = workFolder();
const clone = join(folder, 'clone');
const tools = join(folder, 'tools');
const calls = join(folder, 'npm-calls.txt');

for (const path of ['cli', 'schemas']) mkdirSync(join(clone, path), { recursive: true });
mkdirSync(tools);
for (const file of ['cli/bootstrap.mjs', 'package.json', 'package-lock.json'])
  cpSync(join(root, file), join(clone, file));
writeFileSync(join(clone, 'schemas/word.ts'), "export const word: string = 'first';\n");
writeFileSync(
  join(clone, 'cli/main.ts'),
  "import { word } from '../schemas/word.ts';\nconsole.log(word, ...process.argv.slice(2));\n",
);
writeFileSync(
  join(tools, 'npm'),
  `#!/bin/sh
echo "$@" >> '${calls}'
echo 'added some packages'
[ -e '${folder}/npm-fails' ] && exit 1
rm -rf node_modules && mkdir node_modules
ln -s '${root}node_modules/esbuild' '${root}node_modules/@esbuild' node_modules/
`,
);
chmodSync(join(tools, 'npm'), 0o755);

function bootstrap(...args: string[]) {
  const env = { ...process.env, PATH: `${tools}${delimiter}${process.env['PATH'] ?? ''}` };
  const { status, stdout, stderr } = spawnSync(process.execPath, [join(clone, 'cli/bootstrap.mjs'), ...args], {
    encoding: 'utf8',
    env,
  });
  return { status, stdout, stderr };
}
const npmCalls = () => (existsSync(calls) ? readFileSync(calls, 'utf8').trim().split('\n') : []);

describe('from a clone to a running program', () => {
  test('an installation that fails ends the command with a sentence', () => {
    writeFileSync(join(folder, 'npm-fails'), '');
    const { status, stdout, stderr } = bootstrap('chargeair', 'findings');
    expect({ status, stdout }).toEqual({ status: 1, stdout: '' });
    expect(stderr).toContain('could not be installed');
    spawnSync('rm', [join(folder, 'npm-fails')]);
  });

  test('the first run installs and builds, says so on stderr, and gives stdout to the program alone', () => {
    const { status, stdout, stderr } = bootstrap('chargeair', 'findings', '--json');
    expect({ status, stdout }).toEqual({ status: 0, stdout: 'first findings --json\n' });
    expect(stderr).toMatch(/First run: installing[\s\S]*added some packages[\s\S]*Built dist\//);
    expect(npmCalls()).toEqual(['ci', 'ci']);
  });

  test('the next run does neither', () => {
    expect(bootstrap('start')).toEqual({ status: 0, stdout: 'first start\n', stderr: '' });
    expect(npmCalls()).toHaveLength(2);
  });

  test('a source that was changed, and one that was added, are built', () => {
    writeFileSync(join(clone, 'schemas/word.ts'), "export const word: string = 'second';\n");
    expect(bootstrap('chargeair')).toMatchObject({
      stdout: 'second\n',
      stderr: expect.stringContaining('Built dist/'),
    });
    writeFileSync(join(clone, 'schemas/other.ts'), 'export const other = 1;\n');
    expect(bootstrap('chargeair').stderr).toContain('Built dist/');
  });

  test('a source that does not compile is named with file and line, and the old program is not run', () => {
    const main = readFileSync(join(clone, 'cli/main.ts'), 'utf8');
    writeFileSync(join(clone, 'cli/main.ts'), `${main}const broken = ;\n`);
    const { status, stdout, stderr } = bootstrap('chargeair');
    expect({ status, stdout }).toEqual({ status: 1, stdout: '' });
    expect(stderr).toContain('cli/main.ts:3');
    expect(stderr).not.toMatch(/^\s+at /m);
    writeFileSync(join(clone, 'cli/main.ts'), main);
  });

  test('packages that the lock file no longer agrees with are installed again', () => {
    const lock = JSON.parse(readFileSync(join(clone, 'package-lock.json'), 'utf8')) as Record<string, unknown>;
    writeFileSync(join(clone, 'package-lock.json'), JSON.stringify({ ...lock, changed: true }));
    expect(bootstrap('chargeair').stderr).toContain('older than package-lock.json');
    expect(npmCalls()).toHaveLength(3);
  });
});
