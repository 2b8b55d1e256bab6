import {
  type ByteReader,
  type ByteWriter,
  need,
  readByte,
  readVarint,
  reserve,
  unreadable,
  writeVarint,
} from '../bytes.ts';

// How the values of a column are laid down. The first byte of a column holds one of these and, as NULLS, whether a
// bitmap of the missing values comes first. SCALED + k: whole multiples of 10^-k, as zig-zag varints of differences.
const EMPTY = 0;
const RAW = 1;
const DICTIONARY = 2;
const SCALED = 16;
const MAX_DECIMALS = 6;
const NULLS = 0x80;

/** Largest magnitude of a scaled value: differences of two such still fit a 32-bit integer. */
export const MAX_SCALED = 2 ** 30 - 1;
const MAX_DISTINCT = 4096;
const HASH_SLOTS = 4 * MAX_DISTINCT;

const POWERS = [1, 10, 100, 1000, 10_000, 100_000, 1_000_000] as const;

// One column is packed at a time and nothing awaits in between, so these are shared and only ever grow.
let present = new Float64Array(4096);
let presentHalves = new Uint32Array(present.buffer);
const slots = new Uint16Array(HASH_SLOTS);
const distinct = new Float64Array(MAX_DISTINCT);
const distinctHalves = new Uint32Array(distinct.buffer);

/** Appends a column: bit for bit what was given, in as few bytes as cheap means allow. */
export function writeColumn(writer: ByteWriter, values: readonly (number | null)[]): void {
  const bitmapBytes = (values.length + 7) >> 3;
  reserve(writer, 1 + bitmapBytes + 16 + values.length * 8);
  const headAt = writer.at;
  const count = takePresent(values, writer.bytes, headAt + 1);
  if (count === 0) {
    writer.bytes[writer.at++] = EMPTY;
    return;
  }
  const nulls = count === values.length ? 0 : NULLS;
  writer.at = headAt + 1 + (nulls === 0 ? 0 : bitmapBytes);
  const bodyAt = writer.at;
  for (let decimals = likelyDecimals(count); decimals <= MAX_DECIMALS; decimals += 1) {
    if (writeScaled(writer, count, POWERS[decimals] ?? 1)) {
      writer.bytes[headAt] = nulls | (SCALED + decimals);
      return;
    }
    writer.at = bodyAt;
  }
  if (writeDictionary(writer, count)) {
    writer.bytes[headAt] = nulls | DICTIONARY;
    return;
  }
  for (let i = 0; i < count; i += 1) writer.view.setFloat64(bodyAt + i * 8, present[i] ?? 0, true);
  writer.at = bodyAt + count * 8;
  writer.bytes[headAt] = nulls | RAW;
}

/** Copies the values that are there to `present`, marks the others in a bitmap, and returns how many are there. */
function takePresent(values: readonly (number | null)[], bytes: Uint8Array, bitmapAt: number): number {
  if (present.length < values.length) {
    present = new Float64Array(values.length);
    presentHalves = new Uint32Array(present.buffer);
  }
  const out = present;
  bytes.fill(0, bitmapAt, bitmapAt + ((values.length + 7) >> 3));
  let count = 0;
  for (let i = 0; i < values.length; i += 1) {
    const value = values[i];
    if (value === null || value === undefined) {
      const at = bitmapAt + (i >> 3);
      bytes[at] = (bytes[at] ?? 0) | (1 << (i & 7));
    } else {
      out[count++] = value;
    }
  }
  return count;
}

/** Decimals that a few values spread over the column need; a start for the search, so that it rarely has to go on. */
function likelyDecimals(count: number): number {
  let decimals = 0;
  const stride = Math.max(1, Math.floor(count / 12));
  for (let i = 0; i < count; i += stride) {
    const value = present[i] ?? 0;
    while (decimals <= MAX_DECIMALS) {
      const power = POWERS[decimals] ?? 1;
      if (Math.round(value * power) / power === value) break;
      decimals += 1;
    }
  }
  return decimals;
}

/** Writes `present` as whole multiples of 1 / power; false when one of them is none. */
function writeScaled(writer: ByteWriter, count: number, power: number): boolean {
  const { bytes } = writer;
  const values = present;
  let at = writer.at;
  let previous = 0;
  for (let i = 0; i < count; i += 1) {
    const value = values[i] ?? 0;
    const product = value * power;
    const scaled = (product < 0 ? product - 0.5 : product + 0.5) | 0;
    // The reader divides in the same way, so equality here is equality there, to the last bit.
    if (scaled / power !== value || scaled > MAX_SCALED || scaled < -MAX_SCALED) return false;
    if (scaled === 0 && Object.is(value, -0)) return false;
    const difference = scaled - previous;
    previous = scaled;
    let rest = ((difference << 1) ^ (difference >> 31)) >>> 0;
    while (rest >= 0x80) {
      bytes[at++] = (rest & 0x7f) | 0x80;
      rest >>>= 7;
    }
    bytes[at++] = rest;
  }
  writer.at = at;
  return true;
}

/**
 * Writes `present` as places in a list of the values that occur; false when there are too many for that to pay.
 * It is for converted numbers: a sensor in psi or degF with few steps becomes endless fractions in kPa and degC.
 */
function writeDictionary(writer: ByteWriter, count: number): boolean {
  slots.fill(0);
  let found = 0;
  const places = new Uint16Array(count);
  for (let i = 0; i < count; i += 1) {
    const low = presentHalves[2 * i] ?? 0;
    const high = presentHalves[2 * i + 1] ?? 0;
    let slot = (Math.imul(low ^ Math.imul(high, 0x85ebca6b), 0x9e3779b1) >>> 16) & (HASH_SLOTS - 1);
    for (;;) {
      const place = slots[slot] ?? 0;
      if (place === 0) {
        if (found === MAX_DISTINCT || (found > 128 && found * 4 > i * 3)) return false;
        distinctHalves[2 * found] = low;
        distinctHalves[2 * found + 1] = high;
        found += 1;
        slots[slot] = found;
        places[i] = found - 1;
        break;
      }
      if (distinctHalves[2 * place - 2] === low && distinctHalves[2 * place - 1] === high) {
        places[i] = place - 1;
        break;
      }
      slot = (slot + 1) & (HASH_SLOTS - 1);
    }
  }
  if (found * 4 > count * 3) return false;
  writeVarint(writer, found);
  for (let i = 0; i < found; i += 1) writer.view.setFloat64(writer.at + i * 8, distinct[i] ?? 0, true);
  writer.at += found * 8;
  for (let i = 0; i < count; i += 1) {
    const place = places[i] ?? 0;
    if (place >= 0x80) writer.bytes[writer.at++] = (place & 0x7f) | 0x80;
    writer.bytes[writer.at++] = place >= 0x80 ? place >> 7 : place;
  }
  return true;
}

/**
 * Reads a column of `length` values.
 *
 * @throws PortError `record_unreadable` when the bytes are none of {@link writeColumn}.
 */
export function readColumn(reader: ByteReader, length: number): (number | null)[] {
  const head = readByte(reader);
  const layout = head & ~NULLS;
  if (head === EMPTY) return new Array<number | null>(length).fill(null);
  if ((head & NULLS) === 0) return readValues(reader, layout, length);
  const bitmapAt = reader.at;
  need(reader, (length + 7) >> 3);
  reader.at += (length + 7) >> 3;
  const { bytes } = reader;
  let count = length;
  for (let i = 0; i < length; i += 1) count -= ((bytes[bitmapAt + (i >> 3)] ?? 0) >> (i & 7)) & 1;
  const values = readValues(reader, layout, count);
  const column = new Array<number | null>(length);
  for (let i = 0, from = 0; i < length; i += 1) {
    const missing = (((bytes[bitmapAt + (i >> 3)] ?? 0) >> (i & 7)) & 1) === 1;
    column[i] = missing ? null : (values[from++] ?? 0);
  }
  return column;
}

function readValues(reader: ByteReader, layout: number, count: number): number[] {
  if (layout === RAW) {
    need(reader, count * 8);
    const values = new Array<number>(count);
    for (let i = 0; i < count; i += 1) values[i] = reader.view.getFloat64(reader.at + i * 8, true);
    reader.at += count * 8;
    return values;
  }
  if (layout === DICTIONARY) return readDictionary(reader, count);
  const power = POWERS[layout - SCALED];
  if (power === undefined) throw unreadable(reader, `a column in it has the unknown layout ${layout}`);
  need(reader, count);
  return readScaled(reader, count, power);
}

/** Reads `count` differences as zig-zag varints and returns their running sums, divided by `power`. */
export function readScaled(reader: ByteReader, count: number, power: number): number[] {
  const { bytes } = reader;
  const values = new Array<number>(count);
  let at = reader.at;
  let previous = 0;
  for (let i = 0; i < count; i += 1) {
    let byte = bytes[at++] ?? 0;
    let rest = byte & 0x7f;
    for (let shift = 7; byte >= 0x80 && shift < 35; shift += 7) {
      byte = bytes[at++] ?? 0;
      rest |= (byte & 0x7f) << shift;
    }
    previous = (previous + ((rest >>> 1) ^ -(rest & 1))) | 0;
    values[i] = previous / power;
  }
  if (at > reader.end) throw unreadable(reader, 'a column in it ends too early');
  reader.at = at;
  return values;
}

function readDictionary(reader: ByteReader, count: number): number[] {
  const found = readVarint(reader);
  need(reader, found * 8 + count);
  const tableAt = reader.at;
  reader.at += found * 8;
  const values = new Array<number>(count);
  for (let i = 0; i < count; i += 1) {
    const place = readVarint(reader);
    if (place >= found) throw unreadable(reader, 'a column in it names a value that is not there');
    values[i] = reader.view.getFloat64(tableAt + place * 8, true);
  }
  return values;
}
