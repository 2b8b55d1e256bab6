import { utf8Text } from './raw-text.ts';

/** Powers of ten that are exact in double precision. */
export const POWERS_OF_TEN = Float64Array.from({ length: 23 }, (_, exponent) => Number(`1e${exponent}`));

/** With so many digits a decimal mantissa is below 2^53, and so exact. */
export const EXACT_DIGITS = 15;

const DECIMAL = /^[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?$/;

/**
 * The number that a text states, read as strictly as a table of measured values is written: digits, one decimal sign,
 * an exponent. No hexadecimal, no thousands separators, no `Infinity`, no `NaN`.
 *
 * @param p.text - The field; blanks around it are not read.
 * @param p.decimal - The decimal sign.
 * @returns `undefined` when the text is no finite number. Never -0.
 */
export function parseDecimal(p: { text: string; decimal: '.' | ',' }): number | undefined {
  const trimmed = p.text.trim();
  if (p.decimal === ',' && trimmed.includes('.')) return undefined;
  const plain = p.decimal === ',' ? trimmed.replace(',', '.') : trimmed;
  if (!DECIMAL.test(plain)) return undefined;
  const value = Number(plain);
  return Number.isFinite(value) ? value + 0 : undefined;
}

/**
 * The number in the bytes of a field; the same as {@link parseDecimal} of its text, and made without a string where the
 * field is plain digits.
 *
 * @returns NaN when the field is no finite number; it does not leave the decoders.
 */
export function readDecimal(bytes: Uint8Array, start: number, end: number, decimal: '.' | ','): number {
  const sign = decimal === ',' ? 0x2c : 0x2e;
  let at = start;
  const negative = bytes[at] === 0x2d;
  if (negative) at += 1;
  const firstDigit = at;
  let mantissa = 0;
  let fraction = 0;
  let signs = 0;
  for (; at < end; at += 1) {
    const digit = (bytes[at] as number) - 0x30;
    if (digit >= 0 && digit <= 9) {
      mantissa = mantissa * 10 + digit;
      fraction += signs;
    } else if (bytes[at] === sign && signs === 0) signs = 1;
    else break;
  }
  const digits = at - firstDigit - signs;
  if (at === end && digits > 0 && digits <= EXACT_DIGITS) {
    const value = mantissa / (POWERS_OF_TEN[fraction] as number);
    return negative ? 0 - value : value;
  }
  return parseDecimal({ text: utf8Text(bytes.subarray(start, end)) ?? '', decimal }) ?? Number.NaN;
}
