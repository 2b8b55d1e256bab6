import { existsSync, readdirSync } from 'node:fs';
import { join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { cruiseTree, importRules, ROOMS } from './import-rules.ts';

// Checks the import rules, and that they were checked: a checker that reads no file finds no fault either.

const root = fileURLToPath(new URL('../../', import.meta.url));
const rooms = ROOMS.filter((room) => existsSync(join(root, room)));
const sources = rooms.flatMap((room) =>
  readdirSync(join(root, room), { withFileTypes: true, recursive: true })
    .filter((entry) => entry.isFile() && /\.(ts|mjs)$/.test(entry.name) && !/\.d\.m?ts$/.test(entry.name))
    .map((entry) => relative(root, join(entry.parentPath, entry.name))),
);

const rules = (await importRules()).forbidden ?? [];
const output = await cruiseTree({ folder: root, rooms });
const seen = new Set(output.modules.map((module) => module.source));
const imports = output.modules.flatMap((module) => module.dependencies);

const faults = output.summary.violations.map((violation) => {
  const why = rules.find((rule) => rule.name === violation.rule.name)?.comment ?? '';
  return `${violation.from} -> ${violation.to}: ${violation.rule.name}. ${why}`;
});
for (const source of sources.filter((path) => !seen.has(path)))
  faults.push(`${source}: the checker did not see this file.`);
if (sources.length === 0) faults.push('There is no source file; the rooms are not where they should be.');
if (imports.length === 0) faults.push('The checker saw no import at all; its set-up is broken.');

for (const fault of faults) process.stderr.write(`${fault}\n`);
process.stderr.write(
  `${sources.length} source files, ${imports.length} imports, ${rules.length} rules, ${faults.length} faults.\n`,
);
if (faults.length > 0) process.exitCode = 1;
