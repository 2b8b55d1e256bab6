import { deflateRawSync, inflateRawSync } from 'node:zlib';
import { assert } from '../../schemas/assert.ts';
import {
  type ByteReader,
  type ByteWriter,
  createByteReader,
  createByteWriter,
  finishBytes,
  need,
  readByte,
  readText,
  readVarint,
  reserve,
  unreadable,
  writeByte,
  writeText,
  writeVarint,
} from '../bytes.ts';
import { readRice, writeRice } from './rice.ts';
import { significantCode, significantValue } from './significant.ts';

/** Significant digits of a column; EXACT for whole numbers, which are kept as they are. */
export const EXACT = 0;

/** A column of a chunk: one value a row, `undefined` where the row has none, rounded to so many significant digits. */
export type ChunkColumn = {
  readonly name: string;
  readonly digits: number;
  readonly values: readonly (number | undefined)[];
};

/** A chunk opened for reading; its columns are unpacked one by one, when asked for. */
export type Chunk = {
  readonly rows: number;
  readonly names: readonly string[];
  /** Values of a column, or `undefined` when the chunk has no such column. */
  column(name: string): readonly (number | undefined)[] | undefined;
  readonly texts: readonly string[];
};

const FORMAT_VERSION = 1;
/** A chunk is one unit's day and a point is at least a second long; damage cannot ask for more memory than this. */
const MAX_ROWS = 100_000;
const MAX_HEAD_BYTES = 4 * 2 ** 20;
const DEFLATE_LEVEL = 6;

// How the codes of a column are laid down: the same as another column, differences from row to row, differences to the
// first value, or to another column. The last serves expectations, which stay close to what was observed.
const SAME = 0;
const BY_ROW = 1;
const BY_FIRST = 2;
const BY_COLUMN = 3;

type Codes = readonly (number | undefined)[];

const head = createByteWriter(4096);
const body = createByteWriter(65_536);

/**
 * Packs columns and the texts they refer to.
 *
 * @param p.near - For a column, the name of an earlier one whose values are close to its own.
 */
export function encodeChunk(p: {
  rows: number;
  columns: readonly ChunkColumn[];
  texts: readonly string[];
  near: ReadonlyMap<string, string>;
}): Uint8Array {
  head.at = 0;
  body.at = 0;
  writeVarint(head, p.rows);
  // As one text: reading a hundred small ones takes longer than all the rest of a series.
  writeText(head, JSON.stringify([p.columns.map(({ name }) => name), p.texts]));
  const earlier: { readonly name: string; readonly digits: number; readonly codes: Codes }[] = [];
  for (const { name, digits, values } of p.columns) {
    const codes = values.map((value) => (value === undefined ? undefined : codeOf(value, digits)));
    const from = body.at;
    const same = earlier.findIndex((one) => one.digits === digits && sameCodes(one.codes, codes));
    const near = p.near.get(name);
    const base = near === undefined ? -1 : earlier.findIndex((one) => one.name === near && one.digits === digits);
    writeByte(body, digits);
    if (same >= 0) {
      writeByte(body, SAME);
      writeVarint(body, same);
    } else writeCodes(body, { codes, base, baseCodes: earlier[base]?.codes });
    earlier.push({ name, digits, codes });
    writeVarint(head, body.at - from);
  }
  return assemble();
}

/** The head is much the same words in every chunk and is deflated; the body holds noise, and deflating that is in vain. */
function assemble(): Uint8Array {
  const packedHead = deflateRawSync(head.bytes.subarray(0, head.at), { level: DEFLATE_LEVEL });
  head.at = 0;
  writeByte(head, FORMAT_VERSION);
  writeVarint(head, packedHead.length);
  for (const part of [packedHead, body.bytes.subarray(0, body.at)]) {
    reserve(head, part.length);
    head.bytes.set(part, head.at);
    head.at += part.length;
  }
  return finishBytes(head);
}

function codeOf(value: number, digits: number): number {
  assert(digits !== EXACT || Number.isSafeInteger(value), 'an exact column holds whole numbers');
  return digits === EXACT ? value : significantCode(value, digits);
}

function sameCodes(a: Codes, b: Codes): boolean {
  for (let i = 0; i < b.length; i += 1) if (a[i] !== b[i]) return false;
  return true;
}

/** Layout, presence as a bitmap unless every row has a value, the first value, and the differences. */
function writeCodes(writer: ByteWriter, p: { codes: Codes; base: number; baseCodes: Codes | undefined }): void {
  const present: number[] = [];
  const byRow: number[] = [];
  const byFirst: number[] = [];
  const byColumn: number[] = [];
  let rowSum = 0;
  let firstSum = 0;
  p.codes.forEach((code, row) => {
    if (code === undefined) return;
    const first = present[0] ?? code;
    const previous = present.at(-1) ?? code;
    present.push(code);
    byColumn.push(code - (p.baseCodes?.[row] ?? 0));
    byRow.push(code - previous);
    byFirst.push(code - first);
    rowSum += Math.abs(code - previous);
    firstSum += Math.abs(code - first);
  });
  const layout = p.base >= 0 ? BY_COLUMN : firstSum < rowSum ? BY_FIRST : BY_ROW;
  writeByte(writer, layout);
  if (layout === BY_COLUMN) writeVarint(writer, p.base);
  writeByte(writer, present.length === p.codes.length ? 1 : 0);
  if (present.length < p.codes.length) writePresence(writer, p.codes);
  const first = present[0] ?? 0;
  if (layout !== BY_COLUMN) writeVarint(writer, first >= 0 ? first * 2 : -first * 2 - 1);
  writeRice(writer, layout === BY_COLUMN ? byColumn : layout === BY_FIRST ? byFirst : byRow);
}

function writePresence(writer: ByteWriter, codes: Codes): void {
  for (let from = 0; from < codes.length; from += 8) {
    let bits = 0;
    for (let i = 0; i < 8; i += 1) if (codes[from + i] !== undefined) bits |= 1 << i;
    writeByte(writer, bits);
  }
}

/**
 * Opens what {@link encodeChunk} packed.
 *
 * @throws PortError `record_unreadable` when the bytes are damaged or of an unknown format.
 */
export function openChunk(packed: Uint8Array): Chunk {
  const reader = createByteReader(packed, 'history');
  const version = readByte(reader);
  if (version !== FORMAT_VERSION) throw unreadable(reader, `its format ${version} is unknown`);
  const headBytes = countOf(reader);
  const head = openHead(packed.subarray(reader.at, reader.at + headBytes));
  reader.at += headBytes;
  const rows = readVarint(head);
  const [names, texts] = JSON.parse(readText(head)) as [string[], string[]];
  let at = reader.at;
  const places = names.map((name) => {
    const from = at;
    at += readVarint(head);
    return { name, at: from };
  });
  if (at !== reader.end) throw unreadable(reader, 'its length is not what its head says');
  if (rows > MAX_ROWS) throw unreadable(reader, `it claims to hold ${rows} points`);
  const known: (Unpacked | undefined)[] = [];
  const unpack = (index: number): Unpacked => {
    const place = places[index];
    if (place === undefined) throw unreadable(reader, 'a column in it refers to one that is not there');
    const unpacked = known[index] ?? readColumn({ ...reader, at: place.at }, rows, index, unpack);
    known[index] = unpacked;
    return unpacked;
  };
  return {
    rows,
    texts,
    names,
    column: (name) => {
      const index = places.findIndex((place) => place.name === name);
      if (index < 0) return undefined;
      const { codes, digits } = unpack(index);
      return digits === EXACT
        ? codes
        : codes.map((code) => (code === undefined ? code : significantValue(code, digits)));
    },
  };
}

type Unpacked = { readonly digits: number; readonly codes: Codes };

function readColumn(reader: ByteReader, rows: number, index: number, unpack: (index: number) => Unpacked): Unpacked {
  const digits = readByte(reader);
  const layout = readByte(reader);
  if (layout === BY_ROW || layout === BY_FIRST) return { digits, codes: readCodes(reader, rows, layout) };
  const base = readVarint(reader);
  // Only earlier columns may be referred to, so unpacking always ends.
  if (base >= index || (layout !== SAME && layout !== BY_COLUMN))
    throw unreadable(reader, 'a column in it has an unknown layout');
  const { codes } = unpack(base);
  return { digits, codes: layout === SAME ? codes : readCodes(reader, rows, codes) };
}

/** `by` is the layout, or the column that the codes are differences to. */
function readCodes(reader: ByteReader, rows: number, by: typeof BY_ROW | typeof BY_FIRST | Codes): Codes {
  const presence = readByte(reader) === 1 ? undefined : readPresence(reader, rows);
  const count = presence === undefined ? rows : presence.reduce((sum, one) => sum + (one ? 1 : 0), 0);
  const folded = typeof by === 'number' ? readVarint(reader) : 0;
  let base = folded % 2 === 0 ? folded / 2 : -(folded + 1) / 2;
  const differences = readRice(reader, count);
  const codes = new Array<number | undefined>(rows).fill(undefined);
  for (let row = 0, i = 0; row < rows; row += 1) {
    if (presence !== undefined && presence[row] !== true) continue;
    if (typeof by !== 'number') base = by[row] ?? 0;
    const code = base + (differences[i++] ?? 0);
    if (by === BY_ROW) base = code;
    codes[row] = code;
  }
  return codes;
}

function readPresence(reader: ByteReader, rows: number): boolean[] {
  need(reader, (rows + 7) >> 3);
  const at = reader.at;
  reader.at += (rows + 7) >> 3;
  return Array.from({ length: rows }, (_, i) => (((reader.bytes[at + (i >> 3)] ?? 0) >> (i & 7)) & 1) === 1);
}

/** A count of things that each take at least a byte. */
function countOf(reader: ByteReader): number {
  const count = readVarint(reader);
  need(reader, count);
  return count;
}

function openHead(packed: Uint8Array): ByteReader {
  try {
    const bytes = inflateRawSync(packed, { maxOutputLength: MAX_HEAD_BYTES });
    return {
      bytes,
      view: new DataView(bytes.buffer, bytes.byteOffset, bytes.length),
      at: 0,
      end: bytes.length,
      port: 'history',
    };
  } catch (cause) {
    throw unreadable({ port: 'history' }, 'it cannot be unpacked', cause);
  }
}
