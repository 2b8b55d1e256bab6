import { describe, expect, test } from 'vitest';
import {
  adler32,
  createByteReader,
  createByteWriter,
  finishBytes,
  readFloat,
  readText,
  readVarint,
  writeFloat,
  writeText,
  writeVarint,
} from './bytes.ts';

describe('adler32', () => {
  // RFC 1950 defines the sum; the zlib of Python 3 gives these: zlib.adler32(b'Wikipedia'), zlib.adler32(b'\xff' * 100_000).
  test('is what zlib gives', () => {
    const text = new TextEncoder().encode('Wikipedia');
    expect(adler32(text, text.length)).toBe(0x11e60398);
    expect(adler32(new Uint8Array(100_000).fill(255), 100_000)).toBe(0x149a302c);
    expect(adler32(new Uint8Array(0), 0)).toBe(1);
  });
});

describe('bytes', () => {
  test('what was written is read', () => {
    const writer = createByteWriter(1);
    const numbers = [0, 1, 127, 128, 2 ** 32, Number.MAX_SAFE_INTEGER];
    for (const number of numbers) writeVarint(writer, number);
    writeText(writer, 'łódź 船 🚢');
    writeFloat(writer, -0);
    const reader = createByteReader(finishBytes(writer), 'log');
    expect(numbers.map(() => readVarint(reader))).toEqual(numbers);
    expect(readText(reader)).toBe('łódź 船 🚢');
    expect(readFloat(reader)).toBe(-0);
    expect(reader.at).toBe(reader.end);
  });
});
