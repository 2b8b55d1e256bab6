import { assert } from '../../schemas/assert.ts';

/** A matrix by rows, all of one length. */
export type Matrix = readonly (readonly number[])[];

/** What is left on the diagonal of a column that depends on the ones before it, as a share of the column's length. */
const RANK_SHARE = 1e-14;

/** The value at `i`; a position outside the array is a bug of the caller. */
export function at(values: ArrayLike<number>, i: number): number {
  const value = values[i];
  assert(value !== undefined, 'an array is read inside its bounds');
  return value;
}

/** Sum of the products of two arrays of one length. */
export function dot(a: ArrayLike<number>, b: ArrayLike<number>): number {
  assert(a.length === b.length, 'dot needs two arrays of one length');
  let sum = 0;
  // The innermost loop of every fit: the lengths are equal, so no position needs asking for.
  for (let i = 0; i < a.length; i++) sum += (a[i] as number) * (b[i] as number);
  return sum;
}

/**
 * Least-squares solution of an over-determined system by Householder reflections of the column-scaled matrix. Scaling
 * keeps columns of very different size (a load in percent beside a speed in rpm) from spoiling each other, and
 * reflections keep twice the digits that the normal equations would.
 *
 * @param design - At least as many rows as columns.
 * @param response - One value a row.
 * @returns The solution, the inverse of the product of the transposed design with the design, and the residual sum of
 *   squares; `undefined` when the columns depend on each other, so that no single solution exists.
 * @see Golub & Van Loan, Matrix Computations, section 5.3.2; Businger & Golub (1965), Numerische Mathematik 7.
 */
export function solveLeastSquares(
  design: Matrix,
  response: readonly number[],
): { solution: number[]; inverseProduct: number[][]; residualSumOfSquares: number } | undefined {
  const rows = design.length;
  const columns = design[0]?.length ?? 0;
  assert(
    rows === response.length && rows >= columns && columns > 0,
    'a design has as many rows as responses, and no fewer than columns',
  );
  const work = Array.from({ length: columns }, (_, j) => Float64Array.from(design, (row) => at(row, j)));
  const scales = work.map((column) => Math.sqrt(dot(column, column)));
  if (scales.some((scale) => !(scale > 0))) return undefined;
  for (const [j, column] of work.entries()) for (let i = 0; i < rows; i++) column[i] = at(column, i) / at(scales, j);
  const rotated = Float64Array.from(response);
  const diagonal: number[] = [];
  for (const [j, column] of work.entries()) {
    const tail = column.subarray(j);
    const length = Math.sqrt(dot(tail, tail));
    if (length < RANK_SHARE * rows) return undefined;
    const pivot = at(tail, 0) > 0 ? -length : length;
    diagonal.push(pivot);
    tail[0] = at(tail, 0) - pivot;
    const halfSquare = -pivot * at(tail, 0);
    for (const other of [...work.slice(j + 1), rotated]) reflect(other.subarray(j), tail, halfSquare);
  }
  const upper = (i: number, j: number) => (i === j ? at(diagonal, i) : at(work[j] ?? [], i));
  const solution = backSubstitute(upper, rotated, columns).map((value, j) => value / at(scales, j));
  const rest = rotated.subarray(columns);
  return { solution, inverseProduct: inverseOfProduct(upper, scales), residualSumOfSquares: dot(rest, rest) };
}

/** Applies the reflection with direction `direction`, whose squared length is twice `halfSquare`, to `target` in place. */
function reflect(target: Float64Array, direction: Float64Array, halfSquare: number): void {
  const share = dot(target, direction) / halfSquare;
  for (let i = 0; i < target.length; i++) target[i] = (target[i] as number) - share * (direction[i] as number);
}

function backSubstitute(upper: (i: number, j: number) => number, right: ArrayLike<number>, size: number): number[] {
  const solution = new Array<number>(size).fill(0);
  for (let i = size - 1; i >= 0; i--) {
    let rest = at(right, i);
    for (let j = i + 1; j < size; j++) rest -= upper(i, j) * at(solution, j);
    solution[i] = rest / upper(i, i);
  }
  return solution;
}

/** Inverse of R'R for an upper triangle R of scaled columns, with the scaling undone. */
function inverseOfProduct(upper: (i: number, j: number) => number, scales: readonly number[]): number[][] {
  const size = scales.length;
  const inverse = scales.map((_, k) =>
    backSubstitute(
      upper,
      scales.map((__, i) => (i === k ? 1 : 0)),
      size,
    ),
  );
  return scales.map((scaleI, i) =>
    scales.map((scaleJ, j) => {
      let sum = 0;
      for (const column of inverse) sum += at(column, i) * at(column, j);
      return sum / (scaleI * scaleJ);
    }),
  );
}

/**
 * Solution of a square system by elimination with row exchanges. `matrix` (by rows, `size` squared values) is
 * overwritten: run-length equations are large and are not needed again.
 *
 * @throws AssertionError when the system is singular, which no run-length equation is.
 * @see Golub & Van Loan, section 3.4.
 */
export function solveSquare(matrix: Float64Array, right: Float64Array): Float64Array {
  const size = right.length;
  assert(matrix.length === size * size, 'a square system has size squared coefficients');
  const solution = Float64Array.from(right);
  const rowOf = (i: number) => matrix.subarray(i * size, (i + 1) * size);
  for (let k = 0; k < size; k++) {
    let pivot = k;
    for (let i = k + 1; i < size; i++)
      if (Math.abs(at(matrix, i * size + k)) > Math.abs(at(matrix, pivot * size + k))) pivot = i;
    if (pivot !== k) exchangeRows(rowOf(k), rowOf(pivot), solution, k, pivot);
    const top = rowOf(k);
    const head = at(top, k);
    assert(head !== 0, 'a run-length system is not singular');
    for (let i = k + 1; i < size; i++) {
      const row = rowOf(i);
      const factor = at(row, k) / head;
      if (factor === 0) continue;
      for (let j = k + 1; j < size; j++) row[j] = (row[j] as number) - factor * (top[j] as number);
      solution[i] = at(solution, i) - factor * at(solution, k);
    }
  }
  return Float64Array.from(backSubstitute((i, j) => at(matrix, i * size + j), solution, size));
}

function exchangeRows(a: Float64Array, b: Float64Array, right: Float64Array, i: number, j: number): void {
  const kept = Float64Array.from(a);
  a.set(b);
  b.set(kept);
  [right[i], right[j]] = [at(right, j), at(right, i)];
}
