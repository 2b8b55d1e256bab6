import { expect, test } from 'vitest';
import { poissonInterval } from './poisson.ts';

// Garwood (1936), Biometrika 28, table of 95 % limits; the same figures stand in Pearson & Hartley, Biometrika Tables
// for Statisticians 1, table 40. From memory, to three decimals.
test.each([
  [0, 0, 3.689],
  [1, 0.0253, 5.572],
  [5, 1.623, 11.668],
  [10, 4.795, 18.39],
])('the 95 %% interval of %d events reaches from %d to %d', (count, lower, upper) => {
  const interval = poissonInterval(count, 0.95);
  expect(interval[0]).toBeCloseTo(lower, 2);
  expect(interval[1]).toBeCloseTo(upper, 2);
});

test('a count that is none is a bug of the caller', () => {
  expect(() => poissonInterval(-1, 0.9)).toThrow(/count/);
  expect(() => poissonInterval(1, 1)).toThrow(/confidence/);
});
