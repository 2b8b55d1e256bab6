import { expect, test } from 'vitest';
import { bracketedRoot } from './bracketed-root.ts';

test('finds a root to the last digits, even of a function that is almost flat at it', () => {
  expect(bracketedRoot({ of: (x) => x ** 2 - 2, low: 0, high: 2 })).toBeCloseTo(Math.SQRT2, 14);
  expect(bracketedRoot({ of: (x) => Math.atan(1e6 * (x - 0.3)), low: -100, high: 1 })).toBeCloseTo(0.3, 12);
  expect(bracketedRoot({ of: (x) => (x - 0.5) ** 3, low: 0, high: 10 })).toBeCloseTo(0.5, 4);
});

test('takes an end that is a root, falling functions, and says so when there is no change of sign', () => {
  expect(bracketedRoot({ of: (x) => x, low: 0, high: 1 })).toBe(0);
  expect(bracketedRoot({ of: (x) => x - 1, low: 0, high: 1 })).toBe(1);
  expect(bracketedRoot({ of: (x) => 1 - x, low: 0, high: 3 })).toBeCloseTo(1, 14);
  expect(bracketedRoot({ of: (x) => x ** 2 + 1, low: -1, high: 1 })).toBeUndefined();
});
