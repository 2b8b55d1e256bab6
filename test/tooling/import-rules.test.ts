import { mkdir, mkdtemp, realpath, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join, relative } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { cruiseTree, importRules, ROOMS } from './import-rules.ts';

// Each rule is shown a tree in which one file breaks it; a rule that lets that pass guards nothing.
const BREACHES: { rule: string; from: string; to: string }[] = [
  { rule: 'schemas-import-nothing-of-ours', from: 'schemas/a.ts', to: 'storage/log/port.ts' },
  { rule: 'storage-imports-schemas-only', from: 'storage/log/a.ts', to: 'ingest/intake.ts' },
  { rule: 'ports-know-no-adapter', from: 'storage/log/port.ts', to: 'storage/log/sqlite.ts' },
  { rule: 'ingest-imports-schemas-and-ports', from: 'ingest/a.ts', to: 'analysis/step.ts' },
  { rule: 'ingest-imports-schemas-and-ports', from: 'ingest/b.ts', to: 'storage/log/sqlite.ts' },
  { rule: 'analysis-imports-schemas-only', from: 'analysis/health/a.ts', to: 'storage/log/port.ts' },
  { rule: 'analysis-worker-imports-schemas-and-ports', from: 'analysis/worker.ts', to: 'alerts/book/open.ts' },
  { rule: 'analysis-is-joined-by-its-worker', from: 'analysis/step.ts', to: 'analysis/worker.ts' },
  { rule: 'alerts-import-schemas-and-ports', from: 'alerts/a.ts', to: 'analysis/step.ts' },
  { rule: 'alerts-import-schemas-and-ports', from: 'alerts/b.ts', to: 'web/page.ts' },
  { rule: 'alerts-http-may-render-pages', from: 'alerts/http/a.ts', to: 'ingest/intake.ts' },
  { rule: 'the-book-knows-no-server', from: 'alerts/book/a.ts', to: 'alerts/http/app.ts' },
  { rule: 'web-imports-schemas-only', from: 'web/a.ts', to: 'alerts/book/open.ts' },
  { rule: 'demo-imports-schemas-only', from: 'demo/a.ts', to: 'analysis/step.ts' },
  { rule: 'nothing-imports-cli', from: 'alerts/c.ts', to: 'cli/main.ts' },
  { rule: 'only-wiring-picks-adapters', from: 'cli/commands/a.ts', to: 'storage/log/sqlite.ts' },
  { rule: 'nothing-imports-tests', from: 'cli/a.ts', to: 'test/support.ts' },
  { rule: 'pure-parts-use-no-node', from: 'ingest/formats/a.ts', to: 'node:fs' },
  { rule: 'pure-parts-use-no-node', from: 'analysis/detection/a.ts', to: 'node:crypto' },
  { rule: 'pure-parts-use-no-node', from: 'alerts/book/b.ts', to: 'node:os' },
  { rule: 'web-uses-no-node', from: 'web/b.ts', to: 'node:fs' },
  { rule: 'no-cycles', from: 'cli/cycle-a.ts', to: 'cli/cycle-b.ts' },
  { rule: 'nothing-missing', from: 'cli/b.ts', to: 'cli/not-there.ts' },
  { rule: 'no-undeclared-packages', from: 'cli/c.ts', to: 'not-declared' },
  { rule: 'what-ships-uses-runtime-packages', from: 'cli/d.ts', to: 'only-for-development' },
];

// Imports that the table allows, so that no rule can be made to pass by forbidding everything.
const ALLOWED: { from: string; to: string }[] = [
  { from: 'ingest/c.ts', to: 'storage/log/port.ts' },
  { from: 'ingest/d.ts', to: 'storage/port-error.ts' },
  { from: 'ingest/worker.ts', to: 'node:fs' },
  { from: 'analysis/detection/b.ts', to: 'schemas/unit.ts' },
  { from: 'analysis/worker-loop.ts', to: 'storage/history/port.ts' },
  { from: 'alerts/http/b.ts', to: 'web/page.ts' },
  { from: 'alerts/http/c.ts', to: 'alerts/book/open.ts' },
  { from: 'web/c.ts', to: 'schemas/unit.ts' },
  { from: 'cli/wiring.ts', to: 'storage/log/sqlite.ts' },
  { from: 'cli/commands/b.ts', to: 'analysis/worker-loop.ts' },
  { from: 'cli/e.ts', to: 'for-running' },
  { from: 'analysis/detection/c.test.ts', to: 'demo/shift.ts' },
  { from: 'test/pipeline/a.ts', to: 'cli/main.ts' },
  { from: 'bench/a.ts', to: 'storage/log/sqlite.ts' },
];

// A cycle is reported once, at one of its files; this is the import that closes it.
const CLOSES_THE_CYCLE = { from: 'cli/cycle-b.ts', to: 'cli/cycle-a.ts' };

const all = [...BREACHES.map(({ from, to }) => ({ from, to })), ...ALLOWED, CLOSES_THE_CYCLE];
let folder: string;
let found: Set<string>;

beforeAll(async () => {
  folder = await realpath(await mkdtemp(join(tmpdir(), 'chargeair-imports-')));
  const write = async (path: string, text: string) => {
    await mkdir(dirname(join(folder, path)), { recursive: true });
    await writeFile(join(folder, path), text);
  };
  await write(
    'package.json',
    JSON.stringify({
      type: 'module',
      dependencies: { 'for-running': '1' },
      devDependencies: { 'only-for-development': '1' },
    }),
  );
  for (const name of ['for-running', 'only-for-development', 'not-declared']) {
    await write(
      `node_modules/${name}/package.json`,
      JSON.stringify({ name, version: '1.0.0', type: 'module', main: 'index.js' }),
    );
    await write(`node_modules/${name}/index.js`, 'export const a = 1;\n');
  }
  const isOurs = (path: string) => /^[a-z]+\//.test(path);
  for (const { to } of all) if (isOurs(to) && !to.includes('not-there')) await write(to, 'export const a = 1;\n');
  for (const { from, to } of all) {
    const target = isOurs(to) ? relative(dirname(from), to).replace(/^(?!\.)/, './') : to;
    await write(from, `import { a } from '${target}';\nexport const b = a;\n`);
  }
  const output = await cruiseTree({ folder, rooms: ROOMS });
  found = new Set(output.summary.violations.map((violation) => `${violation.rule.name} ${violation.from}`));
});

afterAll(async () => {
  await rm(folder, { recursive: true });
});

describe('the import rules', () => {
  test.each(BREACHES)('$rule catches $from importing $to', ({ rule, from }) => {
    expect(found).toContain(`${rule} ${from}`);
  });

  test.each(ALLOWED)('$from may import $to', ({ from }) => {
    expect([...found].filter((text) => text.endsWith(` ${from}`))).toEqual([]);
  });

  test('every rule is shown a breach, and says why it is there', async () => {
    const rules = (await importRules()).forbidden ?? [];
    expect(rules.map((rule) => rule.name).sort()).toEqual([...new Set(BREACHES.map((breach) => breach.rule))].sort());
    for (const rule of rules) expect(rule.comment?.length ?? 0).toBeGreaterThan(40);
  });
});
