// From a fresh clone to a running program: installs what is missing, builds what is out of date, runs what was asked for.
// Plain Node without packages, since it runs before there are any. Everything it says goes to stderr, so that the
// output of the command it runs can be piped.
import { spawn, spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { closeSync, existsSync, openSync, readdirSync, readFileSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { constants } from 'node:os';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

const MIN_NODE = [20, 12];

const root = dirname(dirname(fileURLToPath(import.meta.url)));
const modules = join(root, 'node_modules');
const installStamp = join(modules, '.chargeair-stamp');
const dist = join(root, 'dist');
const buildStamp = join(dist, '.stamp');
const buildLock = join(modules, '.chargeair-build-lock');

/** What is built: the name of the file in dist/ and where its source begins. Each is bundled, packages left outside. */
const ENTRIES = {
  chargeair: 'cli/main.ts',
  reference: 'test/reference/run.ts',
  ...benchEntries(),
};

const SOURCE_FOLDERS = [
  'schemas',
  'storage',
  'ingest',
  'analysis',
  'alerts',
  'web',
  'cli',
  'demo',
  'bench',
  'test/reference',
];

const MODES = {
  start: (args) => runBuilt('chargeair', ['start', ...args]),
  chargeair: (args) => runBuilt('chargeair', args),
  reference: (args) => runBuilt('reference', args),
  bench: ([name = '', ...args]) => runBench(name, args),
  build: () => build(),
  test: (args) => runTests(args),
};

/** Every file of bench/ is a program of its own, built as bench-NAME. @returns {Record<string, string>} */
function benchEntries() {
  const folder = join(root, 'bench');
  const files = existsSync(folder) ? readdirSync(folder).filter((name) => /(?<!\.test)\.ts$/.test(name)) : [];
  return Object.fromEntries(files.map((name) => [`bench-${name.slice(0, -'.ts'.length)}`, `bench/${name}`]));
}

/** @param {string} text */
function say(text) {
  process.stderr.write(`${text}\n`);
}

/** Ends the program with a sentence instead of a stack trace.
 * @param {string} text @param {number} code @returns {never} */
function giveUp(text, code) {
  say(text);
  process.exit(code);
}

function checkNode() {
  const [major = 0, minor = 0] = process.versions.node.split('.').map(Number);
  const [minMajor = 0, minMinor = 0] = MIN_NODE;
  if (major > minMajor || (major === minMajor && minor >= minMinor)) return;
  giveUp(
    `chargeair needs Node.js ${MIN_NODE.join('.')} or newer; this is ${process.versions.node}. Install a newer Node.js and run it again.`,
    1,
  );
}

function install() {
  const lockText = readFileSync(join(root, 'package-lock.json'), 'utf8');
  const digest = createHash('sha256').update(lockText).digest('hex');
  if (existsSync(installStamp) && readFileSync(installStamp, 'utf8') === digest) return;
  if (!isInstalled(lockText)) {
    say(
      existsSync(modules)
        ? 'The packages are older than package-lock.json: installing them (npm ci).'
        : 'First run: installing the packages (npm ci). This takes a minute, longer where the database driver is compiled.',
    );
    // npm's own output goes to stderr as well: stdout belongs to the command that follows.
    const npm = spawnSync('npm', ['ci'], { cwd: root, stdio: ['ignore', 2, 2], shell: process.platform === 'win32' });
    if (npm.status !== 0)
      giveUp('The packages could not be installed; what npm says above tells why. Mend that and run it again.', 1);
  }
  writeFileSync(installStamp, digest);
}

/** Whether npm's own record of what lies in node_modules agrees with the lock file; optional packages may be missing.
 * @param {string} lockText */
function isInstalled(lockText) {
  const record = join(modules, '.package-lock.json');
  if (!existsSync(record)) return false;
  const wanted = JSON.parse(lockText).packages;
  const present = JSON.parse(readFileSync(record, 'utf8')).packages;
  return Object.entries(wanted).every(([path, entry]) => {
    if (path === '') return true;
    const found = present[path];
    return found === undefined
      ? entry.optional === true
      : found.version === entry.version && found.integrity === entry.integrity;
  });
}

/** @returns {string[]} every file that goes into the build, as absolute paths */
function sources() {
  const found = [join(root, 'package-lock.json'), fileURLToPath(import.meta.url)];
  for (const folder of SOURCE_FOLDERS) {
    const path = join(root, folder);
    if (!existsSync(path)) continue;
    for (const entry of readdirSync(path, { withFileTypes: true, recursive: true })) {
      const file = join(entry.parentPath ?? entry.path, entry.name);
      if (entry.isFile() && !/\.test\.ts$|\.md$/.test(entry.name) && !file.startsWith(join(root, 'bench', 'out')))
        found.push(file);
    }
  }
  return found;
}

/** Changes whenever a source is added, taken away or written: its name, size and time are enough to tell. */
function sourceDigest() {
  const hash = createHash('sha256');
  for (const file of sources().sort()) {
    // An editor may take a file away between the listing and this look at it.
    const { mtimeMs, size } = statSync(file, { throwIfNoEntry: false }) ?? { mtimeMs: 0, size: 0 };
    hash.update(`${relative(root, file)} ${mtimeMs} ${size}\n`);
  }
  return hash.digest('hex');
}

function isBuilt() {
  return existsSync(buildStamp) && readFileSync(buildStamp, 'utf8') === sourceDigest();
}

async function build() {
  if (isBuilt()) return;
  await holdBuildLock();
  try {
    if (isBuilt()) return; // Another command built it while this one waited.
    const digest = sourceDigest();
    const startedAtMs = Date.now();
    const { build: bundle } = await import('esbuild');
    const { metafile } = await bundle({
      absWorkingDir: root,
      entryPoints: Object.entries(ENTRIES)
        .filter(([, file]) => existsSync(join(root, file)))
        .map(([out, file]) => ({ out, in: file })),
      outdir: dist,
      bundle: true,
      splitting: true,
      format: 'esm',
      platform: 'node',
      target: 'node20',
      packages: 'external',
      sourcemap: true,
      metafile: true,
      loader: { '.css': 'text', '.svg': 'text', '.md': 'text', '.html': 'text' },
      logLevel: 'error',
    });
    removeOld(Object.keys(metafile.outputs));
    writeFileSync(buildStamp, digest);
    say(`Built dist/ in ${Date.now() - startedAtMs} ms.`);
  } catch (error) {
    // The bundler has already printed what is wrong and where.
    if (error instanceof Error && 'errors' in error)
      giveUp('The build failed; the messages above name file and line.', 1);
    throw error;
  } finally {
    rmSync(buildLock, { force: true });
  }
}

/** Takes away what earlier builds left; only now, so that dist/ is never without a program.
 * @param {string[]} current - Paths from the root. */
function removeOld(current) {
  for (const name of readdirSync(dist)) {
    if (!current.includes(`${relative(root, dist)}/${name}`))
      rmSync(join(dist, name), { force: true, recursive: true });
  }
}

const LOCK_TRIES = 600;

/** Two commands started at once must not write dist/ over one another: the second waits for the first. */
async function holdBuildLock() {
  for (let tries = 0; tries < LOCK_TRIES; tries += 1) {
    try {
      const file = openSync(buildLock, 'wx');
      writeFileSync(file, String(process.pid));
      closeSync(file);
      return;
    } catch (error) {
      if (error.code !== 'EEXIST') throw error;
    }
    const holder = Number(existsSync(buildLock) ? readFileSync(buildLock, 'utf8') : '');
    if (holder > 0 && !isRunning(holder)) rmSync(buildLock, { force: true });
    await new Promise((resolve) => setTimeout(resolve, 100));
  }
  giveUp(
    `Another build has held ${relative(root, buildLock)} for a minute. If none is running, remove that file and run it again.`,
    1,
  );
}

/** @param {number} pid */
function isRunning(pid) {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return error.code === 'EPERM';
  }
}

/** Runs a built program in this very process: no second process to start, to signal or to wait for.
 * @param {string} name @param {string[]} args */
async function runBuilt(name, args) {
  await build();
  const file = join(dist, `${name}.js`);
  if (!existsSync(file)) giveUp(`There is no ${ENTRIES[name]} in this copy of chargeair, so it cannot be run.`, 1);
  process.setSourceMapsEnabled(true);
  process.argv = [process.argv[0] ?? 'node', file, ...args];
  await import(pathToFileURL(file).href);
}

/** @param {string} name @param {string[]} args */
async function runBench(name, args) {
  if (!Object.hasOwn(ENTRIES, `bench-${name}`)) {
    const names = Object.keys(benchEntries()).map((entry) => entry.slice('bench-'.length));
    giveUp(`usage: npm run bench -- NAME, where NAME is one of ${names.join(', ')}`, 2);
  }
  await runBuilt(`bench-${name}`, args);
}

/** @param {string[]} args */
async function runTests(args) {
  const names = args.some((arg) => arg === '--project' || arg.startsWith('--project='));
  // Tests of whole processes run what was built; the others run the sources.
  if (names) await build();
  const vitest = join(modules, 'vitest', 'vitest.mjs');
  const child = spawn(process.execPath, [vitest, 'run', ...(names ? [] : ['--project', 'unit']), ...args], {
    cwd: root,
    stdio: 'inherit',
  });
  for (const signal of ['SIGINT', 'SIGTERM']) process.on(signal, () => child.kill(signal));
  child.on('exit', (code, signal) => {
    process.exitCode = code ?? 128 + constants.signals[signal];
  });
}

checkNode();
const [mode = '', ...args] = process.argv.slice(2);
const run = Object.hasOwn(MODES, mode) ? MODES[mode] : undefined;
if (run === undefined) giveUp(`usage: node cli/bootstrap.mjs ${Object.keys(MODES).join('|')} [arguments]`, 2);
install();
await run(args);
