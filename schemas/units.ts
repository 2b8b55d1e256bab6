import type { PressureReference } from './signals.ts';
import { UNITS, type UnitDefinition, type UnitKey } from './unit-table.ts';

/** A unit as a source wrote it, with the pressure reference when the spelling says one (`psig`, `bar(a)`). */
export type StatedUnit = { readonly unit: UnitKey; readonly reference?: PressureReference };

const BY_SPELLING: ReadonlyMap<string, UnitKey> = new Map(
  (Object.keys(UNITS) as UnitKey[]).flatMap((key) =>
    [key, ...UNITS[key].spellings].map((spelling) => [plain(spelling), key] as const),
  ),
);

const REFERENCE_WORDS: ReadonlyMap<string, PressureReference> = new Map([
  ['g', 'gauge'],
  ['gauge', 'gauge'],
  ['gage', 'gauge'],
  ['a', 'absolute'],
  ['abs', 'absolute'],
  ['absolute', 'absolute'],
  ['d', 'differential'],
  ['diff', 'differential'],
  ['differential', 'differential'],
]);

/**
 * The unit that a text names, in any spelling met in log headers: `kpa`, `℃`, `1/min`, `g/sec`, `[bar]`, `psig`.
 *
 * Case is not read, for headers do not keep it: `mpa` is a megapascal, since nobody logs millipascals. `gal` without a
 * country is the US gallon and `hp` the one of 550 ft lbf/s.
 *
 * @param text - The unit as written, with or without one pair of brackets round it.
 * @returns The unit, with the pressure reference when the spelling states one; `undefined` when the text names no known unit.
 * @example parseUnit('psig') // => { unit: 'psi', reference: 'gauge' }
 */
export function parseUnit(text: string): StatedUnit | undefined {
  const bare = text.trim().replace(/^[[(](.*)[\])]$/, '$1');
  const direct = BY_SPELLING.get(plain(bare));
  if (direct !== undefined) return { unit: direct };
  // The longest word that means a reference is taken off the end: "kPa abs", "bar(g)", "psia".
  const worded = /^(.*?)[\s_(]*(gauge|gage|absolute|abs|differential|diff|g|a|d)\)?$/i.exec(bare);
  const unitKey = BY_SPELLING.get(plain(worded?.[1] ?? ''));
  const reference = REFERENCE_WORDS.get((worded?.[2] ?? '').toLowerCase());
  if (unitKey === undefined || reference === undefined || UNITS[unitKey].dimension !== 'pressure') return undefined;
  return { unit: unitKey, reference };
}

/**
 * The straight line that turns a value in one unit into another: `value * scale + offset`. Made once, used in hot loops.
 *
 * @returns `undefined` when the two units measure different things. The line from a unit to itself is exactly 1 and 0.
 */
export function linearConversion(p: {
  from: UnitKey;
  to: UnitKey;
}): { readonly scale: number; readonly offset: number } | undefined {
  const from: UnitDefinition = UNITS[p.from];
  const to: UnitDefinition = UNITS[p.to];
  if (from.dimension !== to.dimension) return undefined;
  if (p.from === p.to) return { scale: 1, offset: 0 };
  return { scale: from.scale / to.scale, offset: (from.offset - to.offset) / to.scale };
}

/**
 * A value in another unit. Exact but for rounding in the last digit.
 *
 * @returns `undefined` when the two units measure different things. Gauge and absolute pressure are not told apart here:
 *   adding a barometer is the work of `absolutePressureKpa`.
 * @example convert({ value: 2.5, from: 'bar', to: 'kPa' }) // => 250
 */
export function convert(p: { value: number; from: UnitKey; to: UnitKey }): number | undefined {
  const line = linearConversion(p);
  return line === undefined ? undefined : p.value * line.scale + line.offset;
}

/**
 * A difference, trend or standard deviation in another unit: the zero points of the scales play no part, so 18 °F of
 * rise are 10 K.
 *
 * @returns `undefined` when the two units measure different things.
 */
export function convertDifference(p: { value: number; from: UnitKey; to: UnitKey }): number | undefined {
  const line = linearConversion(p);
  return line === undefined ? undefined : p.value * line.scale;
}

// One writing for the many: lower case, no degree or exponent signs, single spaces, one sign for "times" and "per".
function plain(text: string): string {
  return text
    .trim()
    .toLowerCase()
    .replaceAll('²', '2')
    .replaceAll('³', '3')
    .replaceAll('⁻¹', '-1')
    .replaceAll('₂', '2')
    .replaceAll(/[·*.]/g, ' ')
    .replaceAll('º', '°')
    .replaceAll(/[()]/g, '')
    .replaceAll(/\s*\/\s*/g, '/')
    .replaceAll(/\^(?=[23])/g, '')
    .replaceAll(/\s+/g, ' ')
    .trim();
}
