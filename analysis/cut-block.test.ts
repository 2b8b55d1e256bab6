import { expect, test } from 'vitest';
import type { SampleBlock } from '../schemas/sample-block.ts';
import { cutBlock } from './cut-block.ts';

const block: SampleBlock = {
  version: 1,
  unit: 'a',
  source: 'test',
  t: [0, 10, 20, 30, 40],
  signals: { engineSpeed: [1, 2, null, 4, 5] },
};
const times = (parts: readonly SampleBlock[]) => parts.map(({ t }) => t);

test('a block that needs no cut stays the same object', () => {
  expect(cutBlock(block, { spanMs: 1000, atMs: [] })[0]).toBe(block);
});

test('every part ends at the times given and spans less than asked, and nothing is lost', () => {
  expect(times(cutBlock(block, { spanMs: 1000, atMs: [15, 30, 99] }))).toEqual([[0, 10], [20, 30], [40]]);
  const parts = cutBlock(block, { spanMs: 20, atMs: [] });
  expect(times(parts)).toEqual([[0, 10], [20, 30], [40]]);
  expect(parts.flatMap(({ signals }) => signals.engineSpeed)).toEqual(block.signals.engineSpeed);
});

test('an empty block has no part', () => {
  expect(cutBlock({ ...block, t: [], signals: {} }, { spanMs: 1, atMs: [] })).toEqual([]);
});
