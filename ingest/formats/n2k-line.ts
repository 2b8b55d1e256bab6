import { readIsoTime } from './iso-time.ts';

/** Longest message of a bus: a fast packet has 223 bytes, one joined by the transport protocol 1,785. */
export const MESSAGE_MAX_BYTES = 1785;

/** One line `TIME,PRIORITY,PGN,SOURCE,DESTINATION,LENGTH,b0,b1,...`. Reused from line to line. */
export type N2kLine = { timeMs: number; pgn: number; sender: number; length: number; readonly data: Uint8Array };

export type N2kLineOutcome = 'message' | 'comment' | 'unreadable' | 'time' | 'too_long' | 'too_short';

const COMMA = 0x2c;
const HYPHEN = 0x2d;
const DATE_CHARACTERS = 10;
/** Longest time that is read: nine decimals and an offset. */
const TIME_MAX = 40;

const HEX = Int8Array.from({ length: 256 }, (_, byte) => {
  const digit = Number.parseInt(String.fromCharCode(byte), 16);
  return Number.isNaN(digit) ? -1 : digit;
});

/** A line to be filled by {@link readN2kLine}. */
export function createN2kLine(): N2kLine {
  return { timeMs: 0, pgn: 0, sender: 0, length: 0, data: new Uint8Array(MESSAGE_MAX_BYTES) };
}

/**
 * Reads a line. The time is ISO 8601, or has a hyphen in place of the T as some gateways write it; without an offset it
 * is UTC, for both forms stand side by side in real files.
 *
 * @param bytes - Readable at `end`, where no digit stands.
 * @returns `comment` for a line that begins with `#`; `too_long` for more bytes than the line states or a message can
 *   have; `too_short` for fewer.
 */
export function readN2kLine(line: N2kLine, bytes: Uint8Array, start: number, end: number): N2kLineOutcome {
  let at = start;
  while (bytes[at] === 0x20) at += 1;
  if (bytes[at] === 0x23) return 'comment';
  const comma = bytes.indexOf(COMMA, at);
  if (comma < 0 || comma >= end) return 'unreadable';
  line.timeMs = readTime(bytes, at, comma);
  const number = { at: comma, value: 0 };
  if (!readNumber(number, bytes) || number.value > 7) return 'unreadable';
  if (!readNumber(number, bytes)) return 'unreadable';
  line.pgn = number.value;
  if (!readNumber(number, bytes) || number.value > 255) return 'unreadable';
  line.sender = number.value;
  if (!readNumber(number, bytes) || number.value > 255) return 'unreadable';
  if (!readNumber(number, bytes)) return 'unreadable';
  const stated = number.value;
  if (stated > MESSAGE_MAX_BYTES) return 'too_long';
  const outcome = readData(line, bytes, number.at, end, stated);
  return outcome === 'message' && Number.isNaN(line.timeMs) ? 'time' : outcome;
}

const time = { localMs: 0, offsetMs: undefined as number | undefined };
const patched = new Uint8Array(TIME_MAX + 1);

function readTime(bytes: Uint8Array, start: number, end: number): number {
  let from = start;
  let to = end;
  let text = bytes;
  if (bytes[start + DATE_CHARACTERS] === HYPHEN && end - start <= TIME_MAX) {
    patched.fill(0);
    patched.set(bytes.subarray(start, end));
    patched[DATE_CHARACTERS] = 0x54;
    text = patched;
    to = end - start;
    from = 0;
  }
  if (!readIsoTime(time, text, from, to)) return Number.NaN;
  return time.localMs - (time.offsetMs ?? 0);
}

// A decimal number behind a comma, up to the next comma or the line's end; six digits at most.
function readNumber(number: { at: number; value: number }, bytes: Uint8Array): boolean {
  if (bytes[number.at] !== COMMA) return false;
  const first = number.at + 1;
  let at = first;
  let value = 0;
  for (let digit = (bytes[at] as number) - 0x30; digit >= 0 && digit <= 9; digit = (bytes[at] as number) - 0x30) {
    value = value * 10 + digit;
    at += 1;
    if (at - first > 6) return false;
  }
  number.at = at;
  number.value = value;
  return at > first;
}

function readData(line: N2kLine, bytes: Uint8Array, start: number, end: number, stated: number): N2kLineOutcome {
  let at = start;
  let length = 0;
  while (at < end) {
    if (bytes[at] !== COMMA) return 'unreadable';
    const high = HEX[bytes[at + 1] as number] as number;
    if (high < 0) return 'unreadable';
    const low = HEX[bytes[at + 2] as number] as number;
    if (length === stated) return 'too_long';
    line.data[length] = low < 0 ? high : high * 16 + low;
    length += 1;
    at += low < 0 ? 2 : 3;
  }
  line.length = length;
  return length < stated ? 'too_short' : 'message';
}
