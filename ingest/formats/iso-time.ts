import { civilMs } from './civil-time.ts';

/** A time as ISO 8601 writes it. `localMs` is without the offset; `offsetMs` is `undefined` where none is stated. */
export type IsoTime = { localMs: number; offsetMs: number | undefined };

/**
 * Reads `2024-03-31T02:30:15.25+01:00` from bytes: the complete extended format of ISO 8601-1 (4.3 date and time),
 * a blank in place of the T as RFC 3339 (5.6) allows, and the offset also as `+0100` or `+01`.
 *
 * @param into - Takes the result, so that reading a million rows makes no objects.
 * @returns Whether the bytes from `start` to `end` are such a time.
 */
export function readIsoTime(into: IsoTime, bytes: Uint8Array, start: number, end: number): boolean {
  if (end - start < 16 || bytes[start + 4] !== 0x2d || bytes[start + 7] !== 0x2d || bytes[start + 13] !== 0x3a)
    return false;
  const separator = bytes[start + 10];
  if (separator !== 0x54 && separator !== 0x20 && separator !== 0x74) return false;
  let at = start + 16;
  let second = 0;
  let millisecond = 0;
  if (bytes[at] === 0x3a) {
    second = twoDigits(bytes, at + 1);
    at += 3;
    if (bytes[at] === 0x2e || bytes[at] === 0x2c) {
      const fraction = at + 1;
      let scale = 100;
      for (at = fraction; isDigit(bytes[at]); at += 1) {
        millisecond += ((bytes[at] as number) - 0x30) * scale;
        scale /= 10;
      }
      if (at === fraction) return false;
    }
  }
  into.localMs = civilMs({
    year: twoDigits(bytes, start) * 100 + twoDigits(bytes, start + 2),
    month: twoDigits(bytes, start + 5),
    day: twoDigits(bytes, start + 8),
    hour: twoDigits(bytes, start + 11),
    minute: twoDigits(bytes, start + 14),
    second,
    millisecond,
  });
  if (Number.isNaN(into.localMs)) return false;
  return readOffset(into, bytes, at, end);
}

function readOffset(into: IsoTime, bytes: Uint8Array, start: number, end: number): boolean {
  into.offsetMs = undefined;
  if (start === end) return true;
  const sign = bytes[start];
  if (sign === 0x5a || sign === 0x7a) {
    into.offsetMs = 0;
    return start + 1 === end;
  }
  if (sign !== 0x2b && sign !== 0x2d) return false;
  const hours = twoDigits(bytes, start + 1);
  let minutes = 0;
  let at = start + 3;
  if (at < end) {
    if (bytes[at] === 0x3a) at += 1;
    minutes = twoDigits(bytes, at);
    at += 2;
  }
  if (at !== end || !(hours <= 18 && minutes <= 59)) return false;
  into.offsetMs = (sign === 0x2d ? -1 : 1) * (hours * 60 + minutes) * 60_000;
  return true;
}

function twoDigits(bytes: Uint8Array, at: number): number {
  const tens = (bytes[at] as number) - 0x30;
  const ones = (bytes[at + 1] as number) - 0x30;
  return tens >= 0 && tens <= 9 && ones >= 0 && ones <= 9 ? tens * 10 + ones : Number.NaN;
}

function isDigit(byte: number | undefined): boolean {
  return byte !== undefined && byte >= 0x30 && byte <= 0x39;
}
