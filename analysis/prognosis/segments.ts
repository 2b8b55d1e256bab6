import { at } from '../detection/linear-algebra.ts';

/** How a series is cut into stretches of one level. Positions are numbers of values before a change. */
export type SegmentSetting = {
  /** Fewest values in a stretch. Default 2. */
  readonly leastLength?: number;
};

/** Sum of squared deviations from their mean of the values from `first` up to but not including `end`. */
type Cost = (first: number, end: number) => number;

/** Sums are taken about the first value, so that a large offset does not cost digits. */
function costOf(values: readonly number[]): Cost {
  const origin = values[0] ?? 0;
  const sums = [0];
  const squares = [0];
  for (const [i, x] of values.entries()) {
    const d = x - origin;
    sums.push(at(sums, i) + d);
    squares.push(at(squares, i) + d * d);
  }
  return (first, end) => {
    const sum = at(sums, end) - at(sums, first);
    return Math.max(0, at(squares, end) - at(squares, first) - (sum * sum) / (end - first));
  };
}

/** Sum of squared deviations from the level of each stretch, for changes at the given positions. */
export function segmentedSumOfSquares(values: readonly number[], changes: readonly number[]): number {
  const cost = costOf(values);
  const ends = [...changes, values.length];
  return ends.reduce((sum, end, i) => sum + cost(i === 0 ? 0 : at(ends, i - 1), end), 0);
}

/**
 * The best given number of changes of level, by least squares over all of them together.
 *
 * @param count - How many changes, 1 or more.
 * @returns Positions, ascending; `undefined` when the series is too short for so many stretches.
 * @see Bellman (1961), Communications of the ACM 4, 284 (dynamic programming); Bai & Perron (2003), Journal of Applied
 *   Econometrics 18, 1-22.
 */
export function bestChanges(
  values: readonly number[],
  count: number,
  setting: SegmentSetting = {},
): number[] | undefined {
  const least = setting.leastLength ?? 2;
  const n = values.length;
  if (count < 1 || n < least * (count + 1)) return undefined;
  const cost = costOf(values);
  let best = Array.from({ length: n + 1 }, (_, end) => (end >= least ? cost(0, end) : Number.POSITIVE_INFINITY));
  const origins: number[][] = [];
  for (let stretch = 1; stretch <= count; stretch++) {
    const origin = new Array<number>(n + 1).fill(0);
    const before = best;
    best = before.map((_, end) => {
      let lowest = Number.POSITIVE_INFINITY;
      for (let cut = least * stretch; cut <= end - least; cut++) {
        const total = at(before, cut) + cost(cut, end);
        if (total < lowest) {
          lowest = total;
          origin[end] = cut;
        }
      }
      return lowest;
    });
    origins.push(origin);
  }
  const changes: number[] = [];
  let end = n;
  for (const origin of origins.reverse()) {
    end = at(origin, end);
    changes.unshift(end);
  }
  return changes;
}

/**
 * Any number of changes of level, each of which must lower the sum of squares by more than `penalty`: the exact optimum,
 * with places that can no longer win left out.
 *
 * @param penalty - Price of a change, in squared units; 3 ln(n) times the variance is a common choice.
 * @returns Positions, ascending; empty when no change pays.
 * @see Killick, Fearnhead & Eckley (2012), Journal of the American Statistical Association 107, 1590-1598.
 */
export function penalisedChanges(values: readonly number[], penalty: number, setting: SegmentSetting = {}): number[] {
  const least = setting.leastLength ?? 2;
  const n = values.length;
  const cost = costOf(values);
  const best = new Array<number>(n + 1).fill(Number.POSITIVE_INFINITY);
  best[0] = -penalty;
  const origin = new Array<number>(n + 1).fill(0);
  let candidates = [0];
  for (let end = least; end <= n; end++) {
    for (const cut of candidates) {
      const total = at(best, cut) + cost(cut, end) + penalty;
      if (total < at(best, end)) {
        best[end] = total;
        origin[end] = cut;
      }
    }
    candidates = candidates.filter((cut) => at(best, cut) + cost(cut, end) <= at(best, end));
    // The next end may only follow a stretch of at least `least` values.
    if (end + 1 - least >= least) candidates.push(end + 1 - least);
  }
  const changes: number[] = [];
  for (let end = at(origin, n); end > 0; end = at(origin, end)) changes.unshift(end);
  return changes;
}

/**
 * Changes of level found one after another, each the best within one of the stretches so far. Quick, not always optimal.
 *
 * @param count - How many changes; fewer are returned when the stretches become too short.
 * @see Scott & Knott (1974), Biometrics 30, 507-512.
 */
export function binaryChanges(values: readonly number[], count: number, setting: SegmentSetting = {}): number[] {
  const least = setting.leastLength ?? 2;
  const cost = costOf(values);
  const changes: number[] = [];
  while (changes.length < count) {
    let best: { gain: number; cut: number } | undefined;
    const bounds = [0, ...changes, values.length];
    for (const [i, first] of bounds.slice(0, -1).entries()) {
      const end = at(bounds, i + 1);
      for (let cut = first + least; cut <= end - least; cut++) {
        const gain = cost(first, end) - cost(first, cut) - cost(cut, end);
        if (best === undefined || gain > best.gain) best = { gain, cut };
      }
    }
    if (best === undefined) break;
    changes.push(best.cut);
    changes.sort((a, b) => a - b);
  }
  return changes;
}

/**
 * Largest F statistic of one change of level, with the ends left out.
 *
 * @param trim - Share of the series left out at each end; 0.15 by custom.
 * @returns `undefined` when no place is left, or some place fits exactly.
 * @see Andrews (1993), Econometrica 61, 821-856.
 */
export function largestChangeF(
  values: readonly number[],
  trim = 0.15,
): { readonly statistic: number; readonly before: number } | undefined {
  const n = values.length;
  const cost = costOf(values);
  const edge = Math.max(1, Math.floor(n * trim));
  let best: { statistic: number; before: number } | undefined;
  for (let cut = edge; cut <= n - edge; cut++) {
    const split = cost(0, cut) + cost(cut, n);
    if (n <= 2 || !(split > 0)) return undefined;
    const statistic = (cost(0, n) - split) / (split / (n - 2));
    if (best === undefined || statistic > best.statistic) best = { statistic, before: cut };
  }
  return best;
}
