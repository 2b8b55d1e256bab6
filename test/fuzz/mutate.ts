/** Numbers from 0 up to 1 that a seed decides. */
export type Random = () => number;

/** The generator mulberry32 (public domain): small, fast, and good enough for choosing places to damage. */
export function createRandom(seed: number): Random {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = state;
    mixed = Math.imul(mixed ^ (mixed >>> 15), mixed | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

/** A whole number from 0 up to `count`, without it. */
export function below(random: Random, count: number): number {
  return Math.floor(random() * count);
}

/** One of a list that is not empty. */
export function pick<T>(random: Random, list: readonly T[]): T {
  return list[below(random, list.length)] as T;
}

/** How often a line is made longer than any reader takes: once in so many mutations. */
const HUGE_EVERY = 4000;
const HUGE_BYTES = 70_000;

/**
 * A damaged copy of a line: one to four of bit flips, other bytes, other digits, cuts, pieces of other lines, pieces said
 * many times, and tokens that are known to hurt.
 */
export function mutate(p: {
  line: Buffer;
  random: Random;
  lines: readonly Buffer[];
  tokens: readonly Buffer[];
}): Buffer {
  const { random } = p;
  let bytes: Buffer = Buffer.from(p.line);
  const times = random() < 0.6 ? 1 : 2 + below(random, 3);
  for (let i = 0; i < times; i += 1) bytes = mutateOnce(bytes, p);
  return bytes;
}

function mutateOnce(bytes: Buffer, p: { random: Random; lines: readonly Buffer[]; tokens: readonly Buffer[] }): Buffer {
  const { random } = p;
  const at = below(random, bytes.length + 1);
  const to = Math.min(bytes.length, at + below(random, 12));
  switch (below(random, 12)) {
    case 0:
      if (bytes.length > 0)
        bytes.writeUInt8((bytes[at % bytes.length] as number) ^ (1 << below(random, 8)), at % bytes.length);
      return bytes;
    case 1:
      if (bytes.length > 0) bytes.writeUInt8(below(random, 256), at % bytes.length);
      return bytes;
    case 2:
      return bytes.subarray(0, at);
    case 3:
      return Buffer.concat([bytes.subarray(0, at), bytes.subarray(to)]);
    case 4: {
      const other = pick(random, p.lines);
      return Buffer.concat([bytes.subarray(0, at), other.subarray(below(random, other.length + 1))]);
    }
    case 5: {
      const times = below(random, HUGE_EVERY) === 0 ? Math.ceil(HUGE_BYTES / Math.max(1, to - at)) : below(random, 40);
      const piece = bytes.subarray(at, to);
      return Buffer.concat([bytes.subarray(0, at), ...Array.from({ length: times }, () => piece), bytes.subarray(at)]);
    }
    case 6:
      return Buffer.concat([bytes.subarray(0, at), pick(random, p.tokens), bytes.subarray(to)]);
    case 7:
      return Buffer.concat([bytes.subarray(0, at), pick(random, p.tokens), bytes.subarray(at)]);
    case 8:
    case 9:
    case 10:
      return replaceDigit(bytes, at, random);
    default:
      return replaceNumber(bytes, pick(random, p.tokens), at);
  }
}

// A token in place of a whole number, so that the form of the line stands.
function replaceNumber(bytes: Buffer, token: Buffer, near: number): Buffer {
  const isPart = (byte: number | undefined) => byte !== undefined && ((byte >= 0x30 && byte <= 0x39) || byte === 0x2e);
  let from = near;
  while (from < bytes.length && !isPart(bytes[from])) from += 1;
  let to = from;
  while (isPart(bytes[to])) to += 1;
  return Buffer.concat([bytes.subarray(0, from), token, bytes.subarray(to)]);
}

const DIGITS = Buffer.from('0123456789');
const HEX_DIGITS = Buffer.from('0123456789ABCDEF');

// Another digit in place of one, so that the line is read and says something else.
function replaceDigit(bytes: Buffer, near: number, random: Random): Buffer {
  for (let at = near; at < bytes.length; at += 1) {
    const byte = bytes[at] as number;
    if (!HEX_DIGITS.includes(byte & 0xdf) && !DIGITS.includes(byte)) continue;
    bytes.writeUInt8(pick(random, [...(DIGITS.includes(byte) ? DIGITS : HEX_DIGITS)]), at);
    break;
  }
  return bytes;
}
