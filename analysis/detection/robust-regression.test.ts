import { describe, expect, test } from 'vitest';
import { leastSquares } from './least-squares.ts';
import { BISQUARE, HUBER, robustRegression } from './robust-regression.ts';
import { trimmedLeastSquares } from './trimmed-least-squares.ts';

/** y = 2 + 3 x, a little scatter that repeats itself, and every seventh response 40 too high. */
const rows = Array.from({ length: 42 }, (_, i) => [i / 4]);
const clean = rows.map(([x = 0], i) => 2 + 3 * x + 0.1 * Math.sin(7 * i));
const spoiled = clean.map((y, i) => (i % 7 === 0 ? y + 40 : y));

describe('robustRegression', () => {
  test('keeps the line that wild responses pull least squares away from', () => {
    const plain = leastSquares({ rows, responses: spoiled });
    const robust = robustRegression({ rows, responses: spoiled });
    expect(Math.abs((plain?.coefficients[0] ?? 0) - 2)).toBeGreaterThan(3);
    expect(robust?.coefficients[0]).toBeCloseTo(2, 1);
    expect(robust?.coefficients[1]).toBeCloseTo(3, 1);
    expect(robust?.weights.filter((weight) => weight === 0)).toHaveLength(6);
    expect(robust?.converged).toBe(true);
  });

  test('agrees with least squares where nothing is wild', () => {
    const plain = leastSquares({ rows, responses: clean });
    const huber = robustRegression({ rows, responses: clean }, { weight: HUBER });
    expect(huber?.coefficients[1]).toBeCloseTo(plain?.coefficients[1] ?? 0, 2);
    expect(huber?.standardErrors[1]).toBeGreaterThan(0.8 * (plain?.standardErrors[1] ?? 0));
    expect(huber?.standardErrors[1]).toBeLessThan(1.3 * (plain?.standardErrors[1] ?? 0));
  });

  // Rousseeuw & Leroy (1987): an M-estimate has a breakdown point of 0 against wild predictors; least trimmed squares has not.
  test('a trimmed start withstands wild rows with far predictors, which an ordinary start does not', () => {
    const far = Array.from({ length: 10 }, (_, i) => [60 + i / 10]);
    const data = { rows: [...rows, ...far], responses: [...clean, ...far.map(() => 0)] };
    expect(robustRegression(data, { start: 'trimmed' })?.coefficients[1]).toBeCloseTo(3, 1);
    expect(Math.abs((robustRegression(data, { weight: BISQUARE })?.coefficients[1] ?? 3) - 3)).toBeGreaterThan(1);
  });

  test('fits exact data exactly, and ends', () => {
    const fit = robustRegression({ rows, responses: rows.map(([x = 0]) => 1 - x) });
    expect(fit?.coefficients[1]).toBeCloseTo(-1, 10);
    expect(fit?.residualSd).toBeCloseTo(0, 10);
  });

  test('is undefined when there is no start', () => {
    expect(robustRegression({ rows: [[1]], responses: [1] })).toBeUndefined();
  });
});

test('trimmedLeastSquares gives the same fit each time, also when starts are drawn', () => {
  const data = { rows: rows.map(([x = 0]) => [x, x * x, Math.cos(x)]), responses: spoiled };
  const first = trimmedLeastSquares(data);
  expect(trimmedLeastSquares(data)).toEqual(first);
  expect(first?.kept.some((i) => i % 7 === 0)).toBe(false);
});
