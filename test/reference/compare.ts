import type { ReferenceCase } from './case.ts';

/** Where and how far a result departs from the expected one. */
export type Deviation = {
  /** Path to the value inside `expected`, such as `limits.upper` or `points[3]`. */
  readonly path: string;
  readonly expected: unknown;
  readonly got: unknown;
  /** Departure over what is allowed: up to 1 passes; infinite where nothing but equality passes. */
  readonly fraction: number;
};

/**
 * Compares a result with what a case expects.
 *
 * A number passes when `|got - expected| <= max(abs, rel |expected|)`. `null` means that the result is undefined: only
 * `undefined` or `null` passes. Texts and flags must be equal. In a list that holds nothing but whole numbers (sample
 * numbers) a whole number must be equal whatever the tolerance. Lists must have the same length; an object may hold more.
 *
 * @returns The worst deviation; its fraction is at most 1 when the result passes.
 */
export function worstDeviation(p: {
  expected: unknown;
  got: unknown;
  tolerance: ReferenceCase['tolerance'];
  path?: string;
}): Deviation {
  const path = p.path ?? '';
  const { expected, got, tolerance } = p;
  if (expected === null) return equality(path, expected, got, got === undefined || got === null);
  if (typeof expected === 'number') {
    const isNumber = typeof got === 'number' && !Number.isNaN(got);
    return isNumber
      ? { path, expected, got, fraction: fractionOf(expected, got, tolerance) }
      : equality(path, expected, got, false);
  }
  if (Array.isArray(expected)) {
    if (!Array.isArray(got) || got.length !== expected.length) return equality(path, expected, got, false);
    const onlyWhole = expected.length > 0 && expected.every(Number.isInteger);
    const parts = expected.map((value: unknown, index) => {
      const exact = onlyWhole && Number.isInteger(got[index]);
      return worstDeviation({
        expected: value,
        got: got[index],
        tolerance: exact ? {} : tolerance,
        path: `${path}[${index}]`,
      });
    });
    return worstOf(parts, equality(path, expected, got, true));
  }
  if (isObject(expected)) {
    if (!isObject(got)) return equality(path, expected, got, false);
    const parts = Object.entries(expected).map(([key, value]) =>
      worstDeviation({ expected: value, got: got[key], tolerance, path: path === '' ? key : `${path}.${key}` }),
    );
    return worstOf(parts, equality(path, expected, got, true));
  }
  return equality(path, expected, got, Object.is(expected, got));
}

function fractionOf(expected: number, got: number, tolerance: ReferenceCase['tolerance']): number {
  const departure = Math.abs(got - expected);
  if (departure === 0 || got === expected) return 0;
  const allowed = Math.max(tolerance.abs ?? 0, (tolerance.rel ?? 0) * Math.abs(expected));
  return allowed > 0 ? departure / allowed : Number.POSITIVE_INFINITY;
}

function equality(path: string, expected: unknown, got: unknown, passes: boolean): Deviation {
  return { path, expected, got, fraction: passes ? 0 : Number.POSITIVE_INFINITY };
}

function worstOf(parts: readonly Deviation[], none: Deviation): Deviation {
  return parts.reduce((worst, part) => (part.fraction > worst.fraction ? part : worst), parts[0] ?? none);
}

function isObject(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
