import { type ByteReader, type ByteWriter, need, readByte, reserve, unreadable, writeByte } from '../bytes.ts';

/** In place of the number of low bits: every value is 0 and nothing follows. */
const ALL_ZERO = 0xff;
/** From this quotient on a value is written whole, so that one outlier cannot cost thousands of bits. */
const ESCAPE = 20;
const WHOLE_HIGH_BITS = 21;
const WHOLE_LOW_BITS = 32;
const MAX_VALUE_BYTES = Math.ceil((ESCAPE + WHOLE_HIGH_BITS + WHOLE_LOW_BITS) / 8);
const MAX_LOW_BITS = 28;

/**
 * Appends whole numbers, of either sign and within 2^52, as Rice codes: the low bits as they are and the rest counted
 * out in ones. For noise around zero, which is what differences of measured values are, this comes within a tenth of a
 * bit of the best that is possible.
 *
 * @see R. F. Rice, "Some Practical Universal Noiseless Coding Techniques", JPL Publication 79-22, 1979.
 */
export function writeRice(writer: ByteWriter, values: readonly number[]): void {
  let sum = 0;
  for (const value of values) sum += fold(value);
  if (sum === 0) {
    writeByte(writer, ALL_ZERO);
    return;
  }
  // Best for values that fall off as noise does: about half of them then have no ones to count.
  const lowBits = Math.min(MAX_LOW_BITS, Math.max(0, Math.round(Math.log2((sum / values.length) * Math.LN2))));
  writeByte(writer, lowBits);
  reserve(writer, values.length * MAX_VALUE_BYTES + 8);
  const bits = { writer, held: 0, count: 0 };
  for (const value of values) {
    const folded = fold(value);
    const quotient = folded < 2 ** 31 ? folded >>> lowBits : ESCAPE;
    if (quotient < ESCAPE) {
      putBits(bits, (2 << quotient) - 2, quotient + 1);
      putBits(bits, folded & ((1 << lowBits) - 1), lowBits);
    } else {
      putBits(bits, 2 ** ESCAPE - 1, ESCAPE);
      putBits(bits, Math.floor(folded / 2 ** WHOLE_LOW_BITS), WHOLE_HIGH_BITS);
      putBits(bits, folded % 2 ** WHOLE_LOW_BITS, WHOLE_LOW_BITS);
    }
  }
  if (bits.count > 0) writeByte(writer, (bits.held << (8 - bits.count)) & 0xff);
}

/** Zig-zag: small numbers of either sign become small whole numbers. */
function fold(value: number): number {
  return value >= 0 ? value * 2 : -value * 2 - 1;
}

/** Appends `count` bits, highest first, in pieces that fit 32-bit arithmetic. */
function putBits(bits: { writer: ByteWriter; held: number; count: number }, value: number, count: number): void {
  if (count > 16) {
    putBits(bits, Math.floor(value / 2 ** 16), count - 16);
    putBits(bits, value % 2 ** 16, 16);
    return;
  }
  bits.held = (bits.held << count) | value;
  bits.count += count;
  while (bits.count >= 8) {
    bits.count -= 8;
    bits.writer.bytes[bits.writer.at++] = bits.held >>> bits.count;
  }
  bits.held &= (1 << bits.count) - 1;
}

/**
 * Reads `count` numbers that {@link writeRice} wrote.
 *
 * @throws PortError `record_unreadable` when they end too early.
 */
export function readRice(reader: ByteReader, count: number): number[] {
  const lowBits = readByte(reader);
  const values = new Array<number>(count).fill(0);
  if (lowBits === ALL_ZERO) return values;
  if (lowBits > MAX_LOW_BITS) throw unreadable(reader, 'a column in it has an unknown layout');
  // A value takes at least one bit, so damage cannot make this long.
  need(reader, Math.ceil((count * (lowBits + 1)) / 8));
  const bits = { reader, held: 0, count: 0 };
  for (let i = 0; i < count; i += 1) {
    let quotient = 0;
    while (quotient < ESCAPE && takeBits(bits, 1) === 1) quotient += 1;
    const folded =
      quotient < ESCAPE
        ? quotient * 2 ** lowBits + takeBits(bits, lowBits)
        : takeBits(bits, WHOLE_HIGH_BITS) * 2 ** WHOLE_LOW_BITS + takeBits(bits, WHOLE_LOW_BITS);
    values[i] = folded % 2 === 0 ? folded / 2 : -(folded + 1) / 2;
  }
  return values;
}

function takeBits(bits: { reader: ByteReader; held: number; count: number }, count: number): number {
  if (count > 16) return takeBits(bits, count - 16) * 2 ** 16 + takeBits(bits, 16);
  while (bits.count < count) {
    // Fewer than 16 bits are held here, so with eight more they fit 32-bit arithmetic.
    bits.held = ((bits.held & 0xffff) << 8) | readByte(bits.reader);
    bits.count += 8;
  }
  bits.count -= count;
  return (bits.held >>> bits.count) & ((1 << count) - 1);
}
