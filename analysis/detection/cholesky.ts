import { assert } from '../../schemas/assert.ts';

/**
 * Cholesky factor of a symmetric positive definite matrix.
 *
 * @param matrix - Square, symmetric, positive definite; only the lower triangle is read.
 * @returns Lower triangular L with L Lᵀ = matrix.
 * @throws AssertionError when the matrix is not positive definite: a bug of the caller, whose prior keeps it so.
 * @see Golub and Van Loan, Matrix Computations, section 4.2.
 */
export function choleskyFactor(matrix: readonly (readonly number[])[]): number[][] {
  const size = matrix.length;
  const factor = Array.from({ length: size }, () => new Array<number>(size).fill(0));
  for (let i = 0; i < size; i += 1) {
    const row = factor[i] as number[];
    for (let j = 0; j <= i; j += 1) {
      const other = factor[j] as number[];
      let sum = (matrix[i] as readonly number[])[j] as number;
      for (let k = 0; k < j; k += 1) sum -= (row[k] as number) * (other[k] as number);
      if (i === j) {
        assert(sum > 0, 'the matrix is positive definite');
        row[j] = Math.sqrt(sum);
      } else row[j] = sum / (other[j] as number);
    }
  }
  return factor;
}

/** Solves L Lᵀ x = b for a factor from {@link choleskyFactor}. */
export function choleskySolve(factor: readonly (readonly number[])[], b: readonly number[]): number[] {
  const x = forwardSolve(factor, b);
  for (let i = x.length - 1; i >= 0; i -= 1) {
    let sum = x[i] as number;
    for (let k = i + 1; k < x.length; k += 1) sum -= ((factor[k] as readonly number[])[i] as number) * (x[k] as number);
    x[i] = sum / ((factor[i] as readonly number[])[i] as number);
  }
  return x;
}

/** Solves L y = b; the squared length of y is bᵀ (L Lᵀ)⁻¹ b. */
export function forwardSolve(factor: readonly (readonly number[])[], b: ArrayLike<number>): number[] {
  const y = new Array<number>(b.length).fill(0);
  for (let i = 0; i < b.length; i += 1) {
    const row = factor[i] as readonly number[];
    let sum = b[i] as number;
    for (let k = 0; k < i; k += 1) sum -= (row[k] as number) * (y[k] as number);
    y[i] = sum / (row[i] as number);
  }
  return y;
}
