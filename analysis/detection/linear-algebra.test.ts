import { expect, test } from 'vitest';
import { solveLeastSquares, solveSquare } from './linear-algebra.ts';

// Golub & Van Loan: the inverse of the Hilbert matrix has whole entries; for n = 3 the solution of H x = (1, 0, 0) is its first column.
test('solveSquare solves an ill-conditioned system with known whole-number solution', () => {
  const hilbert = Float64Array.from({ length: 9 }, (_, k) => 1 / (Math.floor(k / 3) + (k % 3) + 1));
  const solution = solveSquare(hilbert, Float64Array.from([1, 0, 0]));
  for (const [i, want] of [9, -36, 30].entries()) expect(solution[i]).toBeCloseTo(want, 9);
});

test('solveSquare exchanges rows when a pivot is zero', () => {
  expect([...solveSquare(Float64Array.from([0, 2, 3, 0]), Float64Array.from([4, 9]))]).toEqual([3, 2]);
});

test('solveSquare refuses a singular system', () => {
  expect(() => solveSquare(Float64Array.from([1, 2, 2, 4]), Float64Array.from([1, 1]))).toThrow(/singular/);
});

test('solveLeastSquares is undefined when columns depend on each other, however they are scaled', () => {
  const rows = [1, 2, 3, 4, 5].map((x) => [1, x, 1e6 * x + 3]);
  expect(solveLeastSquares(rows, [1, 2, 3, 4, 5])).toBeUndefined();
  expect(solveLeastSquares([[0], [0]], [1, 2])).toBeUndefined();
});

test('solveLeastSquares does not depend on the units of the columns', () => {
  const rows = [1, 2, 3, 4, 5].map((x) => [1, x, x * x]);
  const responses = [2, 3, 7, 11, 19];
  const plain = solveLeastSquares(rows, responses);
  const scaled = solveLeastSquares(
    rows.map(([a = 0, b = 0, c = 0]) => [a, b * 1e9, c * 1e-9]),
    responses,
  );
  expect(scaled?.solution[1]).toBeCloseTo((plain?.solution[1] ?? 0) / 1e9, 20);
  expect(scaled?.residualSumOfSquares).toBeCloseTo(plain?.residualSumOfSquares ?? 0, 12);
});
