import { PortError } from './port-error.ts';

/** A growing row of bytes. Hot loops may write to `bytes` themselves after {@link reserve}. */
export type ByteWriter = { bytes: Uint8Array; view: DataView; at: number };

/** A row of bytes being read. `end` is one past the last byte of the content; the checksum behind it is not counted. */
export type ByteReader = {
  readonly bytes: Uint8Array;
  readonly view: DataView;
  at: number;
  readonly end: number;
  readonly port: 'log' | 'history';
};

const CHECKSUM_BYTES = 4;
const textEncoder = new TextEncoder();
const textDecoder = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });

/** An empty writer; it may be used again and again by setting `at` to 0, as {@link finishBytes} copies. */
export function createByteWriter(capacity: number): ByteWriter {
  const bytes = new Uint8Array(capacity);
  return { bytes, view: new DataView(bytes.buffer), at: 0 };
}

/** Makes room for `count` more bytes. */
export function reserve(writer: ByteWriter, count: number): void {
  const needed = writer.at + count;
  if (needed <= writer.bytes.length) return;
  const grown = new Uint8Array(Math.max(needed, writer.bytes.length * 2));
  grown.set(writer.bytes.subarray(0, writer.at));
  writer.bytes = grown;
  writer.view = new DataView(grown.buffer);
}

export function writeByte(writer: ByteWriter, byte: number): void {
  reserve(writer, 1);
  writer.bytes[writer.at++] = byte;
}

/** Writes a whole number from 0 to 2^53 - 1 in groups of seven bits, lowest first. */
export function writeVarint(writer: ByteWriter, value: number): void {
  reserve(writer, 8);
  let rest = value;
  while (rest >= 0x80) {
    writer.bytes[writer.at++] = (rest % 0x80) | 0x80;
    rest = Math.floor(rest / 0x80);
  }
  writer.bytes[writer.at++] = rest;
}

/** Writes a double, little-endian, bit for bit. */
export function writeFloat(writer: ByteWriter, value: number): void {
  reserve(writer, 8);
  writer.view.setFloat64(writer.at, value, true);
  writer.at += 8;
}

/** Writes a text as its length in bytes and its UTF-8. */
export function writeText(writer: ByteWriter, text: string): void {
  const encoded = textEncoder.encode(text);
  writeVarint(writer, encoded.length);
  reserve(writer, encoded.length);
  writer.bytes.set(encoded, writer.at);
  writer.at += encoded.length;
}

/** The bytes written so far with their checksum behind them, as a copy of their own. */
export function finishBytes(writer: ByteWriter): Uint8Array {
  reserve(writer, CHECKSUM_BYTES);
  writer.view.setUint32(writer.at, adler32(writer.bytes, writer.at), true);
  return writer.bytes.slice(0, writer.at + CHECKSUM_BYTES);
}

/**
 * A reader over what {@link finishBytes} made.
 *
 * @throws PortError `record_unreadable` when the checksum does not match: the bytes are not the ones that were written.
 */
export function createByteReader(bytes: Uint8Array, port: 'log' | 'history'): ByteReader {
  const end = bytes.length - CHECKSUM_BYTES;
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const reader = { bytes, view, at: 0, end, port };
  if (end < 1 || view.getUint32(end, true) !== adler32(bytes, end))
    throw unreadable(reader, 'its checksum does not match');
  return reader;
}

/** The error for bytes that cannot be what was written. */
export function unreadable(reader: { readonly port: 'log' | 'history' }, why: string, cause?: unknown): PortError {
  return new PortError({
    port: reader.port,
    code: 'record_unreadable',
    message: `A stored record cannot be read: ${why}. The file is damaged; restore it from a copy.`,
    retryable: false,
    cause,
  });
}

/** @throws PortError `record_unreadable` unless `count` more bytes are there. */
export function need(reader: ByteReader, count: number): void {
  if (reader.at + count > reader.end) throw unreadable(reader, 'it ends too early');
}

export function readByte(reader: ByteReader): number {
  need(reader, 1);
  return reader.view.getUint8(reader.at++);
}

/** Reads what {@link writeVarint} wrote. */
export function readVarint(reader: ByteReader): number {
  let value = 0;
  let weight = 1;
  for (;;) {
    const byte = readByte(reader);
    value += (byte & 0x7f) * weight;
    if (byte < 0x80) break;
    weight *= 0x80;
    if (weight > 2 ** 49) throw unreadable(reader, 'a number in it is too long');
  }
  if (!Number.isSafeInteger(value)) throw unreadable(reader, 'a number in it is too large');
  return value;
}

export function readFloat(reader: ByteReader): number {
  need(reader, 8);
  const value = reader.view.getFloat64(reader.at, true);
  reader.at += 8;
  return value;
}

export function readText(reader: ByteReader): string {
  const length = readVarint(reader);
  need(reader, length);
  const encoded = reader.bytes.subarray(reader.at, reader.at + length);
  reader.at += length;
  try {
    return textDecoder.decode(encoded);
  } catch (cause) {
    throw unreadable(reader, 'a text in it is not UTF-8', cause);
  }
}

/**
 * Adler-32 checksum of the first `length` bytes.
 *
 * It finds every single changed byte, and costs a fraction of a CRC in this language.
 *
 * @see RFC 1950, section 8.2 and appendix; 5552 is the longest run whose sums stay below 2^32.
 */
export function adler32(bytes: Uint8Array, length: number): number {
  let low = 1;
  let high = 0;
  for (let from = 0; from < length; ) {
    // Shorter than 5552, so that both sums stay small integers of the engine and never become doubles.
    const to = Math.min(from + 2048, length);
    for (let i = from; i < to; i += 1) {
      low += bytes[i] ?? 0;
      high += low;
    }
    low %= 65521;
    high %= 65521;
    from = to;
  }
  return high * 65536 + low;
}
