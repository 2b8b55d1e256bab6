import { assert } from '../../schemas/assert.ts';
import { normalDensity } from '../statistics/normal.ts';
import { gaussLegendre, type QuadratureRule } from '../statistics/quadrature.ts';
import { at } from './linear-algebra.ts';

/**
 * A chart with one running number s, fed with values x of mean 0 and standard deviation 1: s becomes
 * `carry` s + `gain` x + `offset`; above `high` it signals; below `low` it signals too, or rests at `low`.
 */
export type MemoryChart = {
  readonly low: number;
  readonly high: number;
  readonly start: number;
  readonly gain: number;
  readonly carry: number;
  readonly offset: number;
  /** True: s rests at `low` (CUSUM). False: below `low` is a signal (EWMA). */
  readonly rest: boolean;
};

/** What the chain of chart and last value says. */
export type MemoryLengths = {
  /** Average run length from the start of the chart, the first value being as likely as any. */
  readonly length: number;
  /** Average run length from the start of the chart, when the value before the first was `value`. */
  readonly lengthFrom: (value: number) => number;
  /** Mean, over the values that make the chart signal, of what `worth` gives for that value. */
  readonly atSignal: (worth: (value: number) => number) => number;
};

/** Values further than this from the mean are so rare that no run length of use notices them. */
const VALUE_REACH = 6;
/**
 * Steps of the two grids, in square roots of the fresh part of a value (for the running number: of the change that it
 * makes), and of the quadrature, in fresh parts. Halving all of them moves no run length by 0.5 %.
 */
const VALUE_STEP = 0.8;
const NUMBER_STEP = 0.7;
const VALUE_POINTS = 4;
const NUMBER_POINTS = 6;
const NODE_STEP = 0.6;
/** Transition densities below this share of the peak are left out. */
const NEGLIGIBLE = 1e-11;
/** The fall of survival has settled when it changes by less than this share of itself from sample to sample. */
const SETTLED_SHARE = 1e-6;
const MAX_STEPS = 100_000;

/** Evenly spaced positions between which a polynomial interpolates. */
type Axis = { readonly low: number; readonly step: number; readonly count: number };

/** One possible next value for one running number: where both come to lie on the grid, and how likely from each value. */
type Move = {
  readonly numberBefore: number;
  /** Grid positions (value, number) of the first of the neighbours that are interpolated between. */
  readonly corner: number;
  readonly valueWeights: readonly number[];
  readonly numberWeights: readonly number[];
  /** Position of the first value before it that is not negligible, and the masses from there on. */
  readonly firstValue: number;
  readonly masses: Float64Array;
};

type Chain = { readonly values: Axis; readonly numbers: Axis; readonly moves: readonly Move[] };

/**
 * Average run lengths of a memory chart on a first-order autoregression, by the chain of (last value, running number).
 * Survival from every state is stepped on until it falls by one and the same factor each sample; the rest is a
 * geometric sum. The integral over the next value is cut where the chart signals or comes to rest, so nothing jumps
 * inside a piece and Gauss–Legendre nodes serve it well.
 *
 * @param chart - The chart.
 * @param autocorrelation - Above -1 and below 1. Beyond 0.9 the grid grows so fine that an answer takes seconds.
 * @see Brook & Evans (1972), Biometrika 59, 539-549 (chains for run lengths).
 */
export function memoryOf(chart: MemoryChart, autocorrelation: number): MemoryLengths {
  assert(
    Math.abs(autocorrelation) < 1 && chart.high > chart.low,
    'autocorrelation lies between -1 and 1, and a chart has room',
  );
  const chain = chainOf(chart, autocorrelation);
  const advance = (state: Float64Array) => advanced(state, chain);
  const stationary = Array.from(
    { length: chain.values.count },
    (_, i) => chain.values.step * normalDensity(positionOf(i, chain.values)),
  );
  const atStart = neighbours(chart.start, chain.numbers, NUMBER_POINTS);
  const fromStart = (state: Float64Array, i: number) =>
    atStart.weights.reduce(
      (sum, weight, j) => sum + weight * at(state, i * chain.numbers.count + atStart.first + j),
      0,
    );
  const average = (state: Float64Array) => stationary.reduce((sum, share, i) => sum + share * fromStart(state, i), 0);
  const size = chain.values.count * chain.numbers.count;
  const lengths = sumOfSteps(new Float64Array(size).fill(1), advance, average);
  return {
    length: average(lengths),
    lengthFrom: (value) => {
      const around = neighbours(Math.min(Math.max(value, -VALUE_REACH), VALUE_REACH), chain.values, VALUE_POINTS);
      return around.weights.reduce((sum, weight, i) => sum + weight * fromStart(lengths, around.first + i), 0);
    },
    atSignal: (worth) => average(sumOfSteps(signalWorth(chart, { autocorrelation, chain, worth }), advance, average)),
  };
}

function positionOf(i: number, axis: Axis): number {
  return axis.low + i * axis.step;
}

/** The nearest `points` neighbours of a place on an axis and the weights of the polynomial through them. */
function neighbours(place: number, axis: Axis, points: number): { first: number; weights: number[] } {
  const position = (place - axis.low) / axis.step;
  const first = Math.min(Math.max(Math.floor(position) - points / 2 + 1, 0), axis.count - points);
  const weights = Array.from({ length: points }, (_, i) => {
    let weight = 1;
    for (let j = 0; j < points; j++) if (j !== i) weight *= (position - first - j) / (i - j);
    return weight;
  });
  return { first, weights };
}

function axisBetween(low: number, high: number, step: number): Axis {
  const intervals = Math.max(NUMBER_POINTS, Math.ceil((high - low) / step));
  return { low, step: (high - low) / intervals, count: intervals + 1 };
}

/** Pieces of the next value that keep the chart going (with rest, first the piece that makes it rest) or signal. */
function piecesOf(
  chart: MemoryChart,
  s: number,
): { kept: (readonly [number, number])[]; signalling: (readonly [number, number])[] } {
  const base = chart.carry * s + chart.offset;
  const inside = (x: number) => Math.min(Math.max(x, -VALUE_REACH), VALUE_REACH);
  const top = inside((chart.high - base) / chart.gain);
  const bottom = inside((chart.low - base) / chart.gain);
  const low = [-VALUE_REACH, bottom] as const;
  const high = [top, VALUE_REACH] as const;
  return chart.rest
    ? { kept: [low, [bottom, top]], signalling: [high] }
    : { kept: [[bottom, top]], signalling: [low, high] };
}

function nodesOf([low, high]: readonly [number, number], fresh: number): QuadratureRule {
  if (high - low < 1e-12) return { nodes: [], weights: [] };
  return gaussLegendre(Math.ceil(4 + (high - low) / (NODE_STEP * fresh)), { low, high });
}

function chainOf(chart: MemoryChart, autocorrelation: number): Chain {
  const fresh = Math.sqrt(1 - autocorrelation * autocorrelation);
  // Values that swing from side to side make the running number saw: it then takes a finer grid to follow.
  const fineness = autocorrelation < 0 ? fresh / 2 : Math.sqrt(fresh) * 1.1;
  const values = axisBetween(-VALUE_REACH, VALUE_REACH, VALUE_STEP * fineness);
  const numbers = axisBetween(chart.low, chart.high, NUMBER_STEP * fineness * chart.gain);
  const moves: Move[] = [];
  for (let numberBefore = 0; numberBefore < numbers.count; numberBefore++) {
    const s = positionOf(numberBefore, numbers);
    for (const piece of piecesOf(chart, s).kept) {
      const rule = nodesOf(piece, fresh);
      for (const [q, x] of rule.nodes.entries()) {
        const value = neighbours(x, values, VALUE_POINTS);
        const number = neighbours(
          Math.max(chart.low, chart.carry * s + chart.gain * x + chart.offset),
          numbers,
          NUMBER_POINTS,
        );
        const mass = Array.from({ length: values.count }, (_, i) =>
          normalDensity((x - autocorrelation * positionOf(i, values)) / fresh),
        );
        const firstValue = mass.findIndex((m) => m > NEGLIGIBLE);
        if (firstValue === -1) continue;
        const kept = mass.slice(firstValue, mass.findLastIndex((m) => m > NEGLIGIBLE) + 1);
        moves.push({
          numberBefore,
          corner: value.first * numbers.count + number.first,
          valueWeights: value.weights,
          numberWeights: number.weights,
          firstValue,
          masses: Float64Array.from(kept, (m) => (m * at(rule.weights, q)) / fresh),
        });
      }
    }
  }
  return { values, numbers, moves };
}

/** What is expected one sample on, from every (value, number): the inner loop of everything here. */
function advanced(state: Float64Array, chain: Chain): Float64Array {
  const count = chain.numbers.count;
  const result = new Float64Array(state.length);
  for (const move of chain.moves) {
    let worth = 0;
    for (let i = 0; i < VALUE_POINTS; i++) {
      const corner = move.corner + i * count;
      let row = 0;
      for (let j = 0; j < NUMBER_POINTS; j++) row += (move.numberWeights[j] as number) * (state[corner + j] as number);
      worth += (move.valueWeights[i] as number) * row;
    }
    let k = move.firstValue * count + move.numberBefore;
    for (const mass of move.masses) {
      result[k] = (result[k] as number) + mass * worth;
      k += count;
    }
  }
  return result;
}

/** What the very next value is worth if it signals, from every (value, number). */
function signalWorth(
  chart: MemoryChart,
  p: { autocorrelation: number; chain: Chain; worth: (value: number) => number },
): Float64Array {
  const { values, numbers } = p.chain;
  const fresh = Math.sqrt(1 - p.autocorrelation * p.autocorrelation);
  const result = new Float64Array(values.count * numbers.count);
  for (let n = 0; n < numbers.count; n++) {
    for (const piece of piecesOf(chart, positionOf(n, numbers)).signalling) {
      const rule = nodesOf(piece, fresh);
      for (const [q, x] of rule.nodes.entries()) {
        const share = (at(rule.weights, q) / fresh) * p.worth(x);
        for (let i = 0; i < values.count; i++) {
          const k = i * numbers.count + n;
          result[k] = at(result, k) + share * normalDensity((x - p.autocorrelation * positionOf(i, values)) / fresh);
        }
      }
    }
  }
  return result;
}

/** The sum of a state and all its advances: what is expected over the whole run. */
function sumOfSteps(
  first: Float64Array,
  advance: (state: Float64Array) => Float64Array,
  average: (state: Float64Array) => number,
): Float64Array {
  const total = Float64Array.from(first);
  let state = first;
  let before = average(first);
  let ratio = 0;
  for (let n = 1; n < MAX_STEPS; n++) {
    state = advance(state);
    const now = average(state);
    const settled = Math.abs(now / before - ratio) < SETTLED_SHARE * (1 - now / before);
    ratio = now / before;
    before = now;
    const isLast = now < 1e-12 * at(total, 0) || (settled && n > 10);
    const factor = isLast ? 1 / (1 - ratio) : 1;
    for (let k = 0; k < total.length; k++) total[k] = (total[k] as number) + factor * (state[k] as number);
    if (isLast) break;
  }
  return total;
}
