import type { ReferenceCase, ReferenceResult } from './case.ts';

/** A case does not give an input that the figure needs, or in another shape. The adapter turns it into "not covered". */
export class InputMissing extends Error {
  override readonly name = 'InputMissing';
}

/** How each key that a case may expect is worked out; only those it does expect are. */
export type Figures = Readonly<Record<string, () => unknown>>;

/** The expected keys of a case, worked out; "not covered" names the first one that no figure here gives. */
export function answer(referenceCase: ReferenceCase, figures: Figures): ReferenceResult {
  try {
    const values: Record<string, unknown> = {};
    for (const key of Object.keys(referenceCase.expected)) {
      const figure = figures[key];
      if (figure === undefined)
        return { notCovered: `no function gives ${key} from ${Object.keys(referenceCase.inputs).join(', ')}` };
      values[key] = figure();
    }
    return { values };
  } catch (error) {
    if (error instanceof InputMissing) return { notCovered: error.message };
    throw error;
  }
}

/** Whether the case's title, id, or a text or switch among its inputs says one of the words. */
export function says(referenceCase: ReferenceCase, words: RegExp): boolean {
  const switches = Object.entries(referenceCase.inputs).flatMap(([key, value]) => {
    if (value === true) return [key];
    return typeof value === 'string' ? [value] : [];
  });
  return [referenceCase.quantity, referenceCase.id, ...switches].some((text) => words.test(text));
}

/** The first of the keys that is given; throws {@link InputMissing} when none is. */
function given(inputs: Readonly<Record<string, unknown>>, keys: readonly string[]): unknown {
  const key = keys.find((name) => inputs[name] !== undefined && inputs[name] !== null);
  if (key === undefined) throw new InputMissing(`the case gives no ${keys.join(' or ')}`);
  return inputs[key];
}

/** A number under the first of the keys that is given. */
export function numberOf(inputs: Readonly<Record<string, unknown>>, ...keys: string[]): number {
  const value = given(inputs, keys);
  if (typeof value !== 'number') throw new InputMissing(`${keys.join(' or ')} is no number`);
  return value;
}

/** As {@link numberOf}, but `undefined` when none is given. */
export function optionalNumber(inputs: Readonly<Record<string, unknown>>, ...keys: string[]): number | undefined {
  return keys.some((key) => typeof inputs[key] === 'number')
    ? numberOf(inputs, ...keys.filter((key) => typeof inputs[key] === 'number'))
    : undefined;
}

/** Whether a value is a list of numbers (an empty one too). */
export function isNumbers(value: unknown): value is number[] {
  return Array.isArray(value) && value.every((item) => typeof item === 'number');
}

/** A list of numbers under the first of the keys that is given. */
export function numbersOf(inputs: Readonly<Record<string, unknown>>, ...keys: string[]): number[] {
  const value = given(inputs, keys);
  if (!isNumbers(value)) throw new InputMissing(`${keys.join(' or ')} is no list of numbers`);
  return value;
}

/** A list in which values may be missing. */
export function readingsOf(inputs: Readonly<Record<string, unknown>>, ...keys: string[]): (number | null)[] {
  const value = given(inputs, keys);
  if (!Array.isArray(value) || !value.every((item) => item === null || typeof item === 'number')) {
    throw new InputMissing(`${keys.join(' or ')} is no list of numbers and gaps`);
  }
  return value;
}

/** Rows of numbers; a plain list counts as rows of one. */
export function rowsOf(inputs: Readonly<Record<string, unknown>>, ...keys: string[]): number[][] {
  const value = given(inputs, keys);
  if (isNumbers(value)) return value.map((x) => [x]);
  if (!Array.isArray(value) || !value.every(isNumbers))
    throw new InputMissing(`${keys.join(' or ')} is no table of numbers`);
  return value;
}

/** Applies `f` to a number, or to every number of a list (of lists); the result has the shape of the input. */
export function over(value: unknown, f: (x: number) => unknown): unknown {
  if (Array.isArray(value)) return value.map((item) => over(item, f));
  if (typeof value !== 'number') throw new InputMissing('a number or a list of numbers is needed');
  return f(value);
}

/**
 * Settings that go together: lists of one length are taken in parallel, single numbers stay the same throughout. Applies
 * `f` to each; the result is a list when any setting is.
 */
export function inParallel(
  settings: Readonly<Record<string, unknown>>,
  f: (setting: Readonly<Record<string, number>>) => unknown,
): unknown {
  const lengths = new Set(Object.values(settings).flatMap((value) => (Array.isArray(value) ? [value.length] : [])));
  if (lengths.size > 1) throw new InputMissing(`${Object.keys(settings).join(', ')} have different lengths`);
  const pick = (i: number) =>
    Object.fromEntries(
      Object.entries(settings).map(([key, value]) => {
        const item: unknown = Array.isArray(value) ? value[i] : value;
        if (typeof item !== 'number') throw new InputMissing(`${key} is no number`);
        return [key, item];
      }),
    );
  const [length] = lengths;
  return length === undefined ? f(pick(0)) : Array.from({ length }, (_, i) => f(pick(i)));
}

/** Positions counted from 1, as check values count them. */
export function fromOne(positions: readonly number[]): number[] {
  return positions.map((position) => position + 1);
}

/** Positions, from 1, at which `f` holds. */
export function positionsWhere<T>(items: readonly T[], f: (item: T, i: number) => boolean): number[] {
  return items.flatMap((item, i) => (f(item, i) ? [i + 1] : []));
}
