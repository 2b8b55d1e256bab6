import { designRow, type LinearFit, leastSquares, type RegressionData } from './least-squares.ts';
import { at, dot, solveLeastSquares } from './linear-algebra.ts';

/** Every start is tried while there are at most this many. */
const MAX_EXHAUSTIVE_STARTS = 6000;
/** Beyond, this many are drawn: with a third of the rows wild and five coefficients all would miss once in 10^20. */
const DRAWN_STARTS = 500;
/** Starts that survive the first two steps and are run to the end. */
const KEPT_STARTS = 10;
const MAX_STEPS = 100;

/** Least trimmed squares: the fit to the best `kept` rows. */
export type TrimmedFit = {
  readonly fit: LinearFit;
  /** Which rows were kept, from 0, ascending. */
  readonly kept: readonly number[];
  /** Sum of the squares of the `kept` smallest residuals: what is minimised. */
  readonly sumOfSquares: number;
};

type Candidate = { readonly rows: readonly number[]; readonly sumOfSquares: number };

/**
 * Least trimmed squares: the regression of which the sum of the smallest squared residuals is least. Up to almost half
 * of the rows may be wild in response and predictors. Searched by concentration steps from elemental starts: every
 * step fits the rows that fitted best before, which can only lower the sum.
 *
 * @param data - See {@link leastSquares}.
 * @param kept - How many rows count; floor((rows + coefficients + 1) / 2), which withstands most, unless given.
 * @returns `undefined` when `kept` does not exceed the coefficients, or no start has independent predictors. All starts
 *   are tried for small data; for large data the order of a fixed congruential sequence, so the same data always give
 *   the same fit.
 * @see Rousseeuw & Van Driessen (2006), Computing LTS regression for large data sets, Data Mining and Knowledge
 *   Discovery 12, 29-45.
 */
export function trimmedLeastSquares(data: RegressionData, kept?: number): TrimmedFit | undefined {
  const intercept = data.intercept ?? true;
  const design = data.rows.map((row) => designRow(row, intercept));
  const columns = design[0]?.length ?? 0;
  const size = kept ?? Math.floor((design.length + columns + 1) / 2);
  if (columns === 0 || size <= columns || size > design.length) return undefined;
  const candidates: Candidate[] = [];
  for (const start of elementalStarts(design.length, columns + 1)) {
    const candidate = concentrate(data, { design, size, rows: start, steps: 2 });
    if (candidate !== undefined) candidates.push(candidate);
  }
  candidates.sort((a, b) => a.sumOfSquares - b.sumOfSquares);
  const finished = candidates
    .slice(0, KEPT_STARTS)
    .map((candidate) => concentrate(data, { design, size, rows: candidate.rows, steps: MAX_STEPS }) ?? candidate)
    .sort((a, b) => a.sumOfSquares - b.sumOfSquares);
  const best = finished[0];
  const fit = best && leastSquares(subset(data, best.rows));
  if (best === undefined || fit === undefined) return undefined;
  return { fit, kept: best.rows, sumOfSquares: fit.residualSumOfSquares };
}

function subset(data: RegressionData, rows: readonly number[]): RegressionData {
  return { ...data, rows: rows.map((i) => data.rows[i] ?? []), responses: rows.map((i) => at(data.responses, i)) };
}

function concentrate(
  data: RegressionData,
  p: { design: readonly (readonly number[])[]; size: number; rows: readonly number[]; steps: number },
): Candidate | undefined {
  let current: Candidate | undefined;
  let rows = p.rows;
  for (let step = 0; step < p.steps; step++) {
    const solved = solveLeastSquares(
      rows.map((i) => p.design[i] ?? []),
      rows.map((i) => at(data.responses, i)),
    );
    if (solved === undefined) return current;
    const squares = Float64Array.from(p.design, (row, i) => (at(data.responses, i) - dot(row, solved.solution)) ** 2);
    const best = smallest(squares, p.size);
    const sumOfSquares = best.reduce((sum, i) => sum + at(squares, i), 0);
    if (current !== undefined && sumOfSquares >= current.sumOfSquares) return current;
    current = { rows: best, sumOfSquares };
    rows = best;
  }
  return current;
}

/** Positions of the `size` smallest values, ascending; of equal ones at the edge the first. */
function smallest(values: Float64Array, size: number): number[] {
  const edge = at(values.slice().sort(), size - 1);
  const below: number[] = [];
  const equal: number[] = [];
  for (const [i, value] of values.entries()) {
    if (value < edge) below.push(i);
    else if (value === edge) equal.push(i);
  }
  return [...below, ...equal.slice(0, size - below.length)].sort((a, b) => a - b);
}

/** Subsets of `size` out of `count` rows: all of them when few enough, else a fixed sequence of draws. */
function* elementalStarts(count: number, size: number): Generator<number[]> {
  let combinations = 1;
  for (let i = 0; i < size; i++) combinations *= (count - i) / (i + 1);
  if (combinations <= MAX_EXHAUSTIVE_STARTS) {
    yield* allSubsets(count, size);
    return;
  }
  // A linear congruential sequence modulo 2^32: Press et al., Numerical Recipes, section 7.1.
  let state = 1;
  const draw = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor((state / 2 ** 32) * count);
  };
  for (let start = 0; start < DRAWN_STARTS; start++) {
    const chosen = new Set<number>();
    while (chosen.size < size) chosen.add(draw());
    yield [...chosen];
  }
}

function* allSubsets(count: number, size: number): Generator<number[]> {
  const chosen = Array.from({ length: size }, (_, i) => i);
  while (true) {
    yield [...chosen];
    let i = size - 1;
    while (i >= 0 && at(chosen, i) === count - size + i) i--;
    if (i < 0) return;
    chosen[i] = at(chosen, i) + 1;
    for (let j = i + 1; j < size; j++) chosen[j] = at(chosen, j - 1) + 1;
  }
}
