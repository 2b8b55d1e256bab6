import { assert } from '../../schemas/assert.ts';
import { at } from './linear-algebra.ts';

/** The nine definitions of a sample quantile, numbered as in Hyndman & Fan (1996). */
export type QuantileType = 1 | 2 | 3 | 4 | 5 | 6 | 7 | 8 | 9;

/** How far above a whole number a rank may be by rounding alone. */
const RANK_ROUNDING = 4 * Number.EPSILON;

/** A copy in ascending order. */
export function ascending(values: readonly number[]): number[] {
  return [...values].sort((a, b) => a - b);
}

/**
 * A sample quantile.
 *
 * @param values - In any order; at least one.
 * @param p - From 0 to 1.
 * @param type - Definition; 7 (linear between order statistics) unless a comparison needs another.
 * @returns `undefined` when there are no values.
 * @throws AssertionError when `p` lies outside 0 to 1.
 * @see Hyndman & Fan (1996), Sample quantiles in statistical packages, The American Statistician 50, 361-365.
 */
export function quantile(values: readonly number[], p: number, type: QuantileType = 7): number | undefined {
  return values.length === 0 ? undefined : quantileOfSorted(ascending(values), p, type);
}

/** As {@link quantile}, of values already in ascending order, of which there is at least one. */
export function quantileOfSorted(sorted: readonly number[], p: number, type: QuantileType = 7): number {
  assert(sorted.length > 0 && p >= 0 && p <= 1, 'a quantile needs values and a probability from 0 to 1');
  const order = (rank: number) => at(sorted, Math.min(Math.max(rank, 1), sorted.length) - 1);
  const position = rankPosition(sorted.length, p, type);
  const whole = Math.floor(position + RANK_ROUNDING * Math.max(1, position));
  const rest = Math.abs(position - whole) <= RANK_ROUNDING * Math.max(1, position) ? 0 : position - whole;
  const share = upperShare({ rest, whole, type });
  if (share === 0) return order(whole);
  if (share === 1) return order(whole + 1);
  return order(whole) + share * (order(whole + 1) - order(whole));
}

/** The (fractional) rank that `p` points at, counted from 1. */
function rankPosition(n: number, p: number, type: QuantileType): number {
  switch (type) {
    case 1:
    case 2:
    case 4:
      return n * p;
    case 3:
      return n * p - 0.5;
    case 5:
      return n * p + 0.5;
    case 6:
      return (n + 1) * p;
    case 7:
      return (n - 1) * p + 1;
    case 8:
      return (n + 1 / 3) * p + 1 / 3;
    case 9:
      return (n + 1 / 4) * p + 3 / 8;
    default:
      return type satisfies never;
  }
}

/** How much of the way from the order statistic at `whole` to the next one is gone. */
function upperShare(p: { rest: number; whole: number; type: QuantileType }): number {
  if (p.type === 1) return p.rest > 0 ? 1 : 0;
  if (p.type === 2) return p.rest > 0 ? 1 : 0.5;
  if (p.type === 3) return p.rest === 0 && p.whole % 2 === 0 ? 0 : 1;
  return p.rest;
}

/** Middle value; the mean of the two middle ones for an even number. `undefined` when there are no values. */
export function median(values: readonly number[]): number | undefined {
  return values.length === 0 ? undefined : medianOfSorted(ascending(values));
}

/** As {@link median}, of values already in ascending order, of which there is at least one. */
export function medianOfSorted(sorted: ArrayLike<number>): number {
  const half = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? at(sorted, half) : (at(sorted, half - 1) + at(sorted, half)) / 2;
}
