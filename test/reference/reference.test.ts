import { fileURLToPath } from 'node:url';
import { describe, expect, test } from 'vitest';
import { readReferenceFile } from './read-file.ts';
import { checkedCase } from './run.ts';

/** Cases that no function of ours covers, by id, and why. A case that stops being covered and is not named here fails. */
const NOT_COVERED: Readonly<Record<string, string>> = {};

describe.each(['thermo.json', 'statistics.json'])('%s', (file) => {
  const cases = readReferenceFile(fileURLToPath(new URL(file, import.meta.url)));

  for (const referenceCase of cases) {
    test(`${referenceCase.id}: ${referenceCase.quantity} [${referenceCase.source}]`, () => {
      const row = checkedCase(referenceCase);
      const evidence = JSON.stringify(row.note ?? row.worst);
      const wanted = Object.hasOwn(NOT_COVERED, referenceCase.id) ? 'not covered' : 'passed';
      expect(row.verdict, evidence).toBe(wanted);
    });
  }

  test('names no case twice, so a verdict belongs to one case', () => {
    const ids = cases.map(({ id }) => id);
    expect(ids.filter((id, index) => ids.indexOf(id) !== index)).toEqual([]);
  });
});

test('every case excused as not covered exists', () => {
  const files = ['thermo.json', 'statistics.json'].map((file) => fileURLToPath(new URL(file, import.meta.url)));
  const ids = new Set(files.flatMap(readReferenceFile).map(({ id }) => id));
  expect(Object.keys(NOT_COVERED).filter((id) => !ids.has(id))).toEqual([]);
});
