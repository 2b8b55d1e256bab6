import { mkdir, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { fileURLToPath } from 'node:url';
import { JSON_SCHEMA_NAMES, jsonSchemaText } from './json-schemas.ts';

// Writes the JSON Schemas beside the schemas they come from; with --check it only compares, and fails where they differ.

const folder = new URL('./json/', import.meta.url);
const check = process.argv.includes('--check');

const wanted = new Map(JSON_SCHEMA_NAMES.map((name) => [`${name}.schema.json`, jsonSchemaText(name)]));
await mkdir(folder, { recursive: true });
const present = (await readdir(folder)).filter((name) => name.endsWith('.schema.json'));
const different: string[] = [];

for (const [name, text] of wanted) {
  const file = new URL(name, folder);
  const old = present.includes(name) ? await readFile(file, 'utf8') : undefined;
  if (old === text) continue;
  different.push(name);
  if (!check) await writeFile(file, text);
}
for (const name of present.filter((old) => !wanted.has(old))) {
  different.push(name);
  if (!check) await rm(new URL(name, folder));
}

const where = fileURLToPath(folder);
if (different.length === 0) {
  process.stderr.write(`The ${wanted.size} JSON Schemas in ${where} are current.\n`);
} else if (check) {
  process.stderr.write(`Not current: ${different.join(', ')} in ${where}. Run: npm run generate:schemas\n`);
  process.exitCode = 1;
} else {
  process.stderr.write(`Written: ${different.join(', ')} in ${where}.\n`);
}
