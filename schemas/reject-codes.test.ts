import { readFileSync } from 'node:fs';
import { expect, test } from 'vitest';
import { REJECT_CODES } from './reject.ts';

const rows = readFileSync(new URL('./reject-codes.md', import.meta.url), 'utf8')
  .split('\n')
  .filter((line) => line.startsWith('| `'))
  .map((line) => line.split('|').map((cell) => cell.trim()));

test('every reject code stands once in the table, and the table has no other', () => {
  const listed = rows.map((cells) => cells[1]?.replaceAll('`', ''));
  expect([...listed].sort()).toEqual([...REJECT_CODES].sort());
});

test('every reject code has a cause and a remedy', () => {
  for (const [, code, cause, remedy] of rows) {
    expect([code, (cause ?? '').length > 20, (remedy ?? '').length > 10]).toEqual([code, true, true]);
  }
});
