import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';

// House rules that no other tool checks. Every list is read from the files themselves.

const root = fileURLToPath(new URL('../../', import.meta.url));
const self = relative(root, fileURLToPath(import.meta.url));
const NOT_OURS = ['node_modules', 'dist', 'coverage', '.git', '.chargeair', 'LICENSE', 'package-lock.json'];
const BINARY = /\.(gz|png|jpg|pdf|sqlite|woff2|ico)$/;

const files = readdirSync(root, { withFileTypes: true })
  .filter((entry) => !NOT_OURS.includes(entry.name))
  .flatMap((entry) =>
    entry.isDirectory()
      ? readdirSync(join(root, entry.name), { withFileTypes: true, recursive: true })
          .filter((inner) => inner.isFile())
          .map((inner) => relative(root, join(inner.parentPath, inner.name)))
      : [entry.name],
  )
  .filter((path) => !path.startsWith('bench/out/'));
const texts = new Map(
  files.filter((path) => !BINARY.test(path)).map((path) => [path, readFileSync(join(root, path), 'utf8')]),
);
const sources = [...texts].filter(([path]) => /\.(ts|mjs)$/.test(path));

/** Places where a pattern stands, as `file:line`; this file is left out, since it has to name what it looks for. */
function places(pattern: RegExp, among: Iterable<readonly [string, string]> = texts): string[] {
  return [...among].flatMap(([path, text]) =>
    path === self
      ? []
      : text.split('\n').flatMap((line, index) => (pattern.test(line) ? [`${path}:${index + 1}`] : [])),
  );
}

describe('house rules', () => {
  test('there are sources to look at', () => {
    expect(sources.length).toBeGreaterThan(50);
  });

  test('no test is the only one that runs, and none is left out', () => {
    // The contract suites may leave a test out for one adapter, since there a skip carries its reason.
    const others = sources.filter(([path]) => path !== 'test/contract/contract.ts');
    expect(places(/\b(test|it|describe)\.(skip|todo|fails)\b/, others)).toEqual([]);
    expect(places(/\b(test|it|describe)\.only\b/, sources)).toEqual([]);
  });

  test('nothing is left for later in a comment', () => {
    expect(places(/\b(TODO|FIXME|XXX|HACK)\b/, sources)).toEqual([]);
  });

  test('no source file is longer than 300 lines', () => {
    const long = sources
      .map(([path, text]) => [path, text.split('\n').length - 1] as const)
      .filter(([, length]) => length > 300);
    expect(long).toEqual([]);
  });

  test('file names are in kebab-case', () => {
    const names = sources
      .map(([path]) => path)
      .filter((path) => !/(^|\/)\.?[a-z0-9]+([-.][a-z0-9]+)*\.(ts|mjs)$/.test(path));
    expect(names).toEqual([]);
  });

  test('nothing leans on a folder outside the project', () => {
    expect(places(/\/work\/|\.\.\/shared\b|["'`(\s]\/tmp\//)).toEqual([]);
  });

  test('no package registry is named', () => {
    expect(places(/\b(registry\.npmjs|npmjs\.(com|org)|pypi\.org|crates\.io|repo1?\.maven|proxy\.golang)/)).toEqual([]);
  });

  test('nobody switches the type checker, the linter or a rule off without saying why', () => {
    expect(places(/@ts-(ignore|nocheck|expect-error)\s*$/, sources)).toEqual([]);
    expect(places(/biome-ignore [^:]*(:\s*)?$|biome-ignore-all/, sources)).toEqual([]);
  });

  test('chance comes from a seed, never from the machine', () => {
    expect(places(/Math\.random\(/, sources)).toEqual([]);
  });

  test('imports of ours end in .ts', () => {
    expect(places(/from '\.{1,2}\/[^']*(?<!\.(ts|mjs|json|css|svg|md|html))'/, sources)).toEqual([]);
  });
});

describe('the documents', () => {
  const documents = [...texts].filter(([path]) => path.endsWith('.md'));
  const scripts = Object.keys(
    (JSON.parse(texts.get('package.json') ?? '{}') as { scripts: Record<string, string> }).scripts,
  );
  const built = ['ci', 'install', 'test', 'start', 'help'];

  test('every npm script that a document names exists', () => {
    const missing = documents.flatMap(([path, text]) =>
      [...text.matchAll(/\bnpm (?:run(?:-script)? )?(?:-s |--silent )*([a-z][a-z:-]*)/g)]
        .filter(([whole, name = '']) =>
          whole.includes('run')
            ? !scripts.includes(name)
            : built.includes(name) && !['ci', 'install', 'help'].includes(name) && !scripts.includes(name),
        )
        .map(([whole]) => `${path}: ${whole}`),
    );
    expect(missing).toEqual([]);
  });

  test('every file that a document links to exists', () => {
    const missing = documents.flatMap(([path, text]) =>
      [...text.matchAll(/\]\((?!https?:|mailto:|#)([^)#\s]+)/g)]
        .filter(([, target = '']) => !existsSync(join(root, path, '..', target)))
        .map(([, target]) => `${path}: ${target}`),
    );
    expect(missing).toEqual([]);
  });

  test('every script that npm knows leads to a file that exists', () => {
    const commands = Object.values(
      (JSON.parse(texts.get('package.json') ?? '{}') as { scripts: Record<string, string> }).scripts,
    );
    const missing = commands
      .flatMap((command) => [...command.matchAll(/\b[\w./-]+\.(?:mjs|ts)\b/g)].map(([file]) => file))
      .filter((file) => !existsSync(join(root, file)));
    expect(missing).toEqual([]);
  });
});
