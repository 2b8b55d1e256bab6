/** One line of a bus log. Reused from line to line. */
export type CanFrame = {
  /** As written, in ms; what it counts from is the reader's to know. */
  timeMs: number;
  interfaceStart: number;
  interfaceEnd: number;
  identifier: number;
  /** 29 bits; else 11. */
  isExtended: boolean;
  isRemote: boolean;
  length: number;
  readonly data: Uint8Array;
};

export type FrameOutcome = 'frame' | 'unreadable' | 'too_long' | 'flexible';

/** Most data bytes of a classical CAN frame (ISO 11898-1). */
export const FRAME_DATA_MAX = 8;

const SPACE = 0x20;

const HEX = Int8Array.from({ length: 256 }, (_, byte) => {
  const digit = Number.parseInt(String.fromCharCode(byte), 16);
  return Number.isNaN(digit) ? -1 : digit;
});

/** A frame to be filled by {@link readFrame}. */
export function createFrame(): CanFrame {
  return {
    timeMs: 0,
    interfaceStart: 0,
    interfaceEnd: 0,
    identifier: 0,
    isExtended: false,
    isRemote: false,
    length: 0,
    data: new Uint8Array(FRAME_DATA_MAX),
  };
}

/**
 * Reads a line in either form of the candump text log: `(1589326646.631333) can1 18D48025#000F` or
 * ` (000.005001)  can0  18FEDF00   [8]  8A A0 28 7D 7D FF FF F5`. What follows the data behind a blank is not read.
 *
 * @param bytes - Readable up to the line's end, which is a byte below the blank.
 * @returns `too_long` for more than eight data bytes, `flexible` for a CAN FD frame.
 */
export function readFrame(frame: CanFrame, bytes: Uint8Array, start: number): FrameOutcome {
  let at = start;
  while (bytes[at] === SPACE) at += 1;
  if (bytes[at] !== 0x28) return 'unreadable';
  at = readTime(frame, bytes, at + 1);
  if (at < 0) return 'unreadable';
  while (bytes[at] === SPACE) at += 1;
  frame.interfaceStart = at;
  while ((bytes[at] as number) > SPACE) at += 1;
  frame.interfaceEnd = at;
  at = skipDirection(bytes, at);
  let identifier = 0;
  const first = at;
  for (let digit = HEX[bytes[at] as number] as number; digit >= 0; digit = HEX[bytes[at] as number] as number) {
    identifier = identifier * 16 + digit;
    at += 1;
  }
  const digits = at - first;
  if (digits !== 8 && digits !== 3) return 'unreadable';
  frame.identifier = identifier;
  frame.isExtended = digits === 8;
  frame.isRemote = false;
  frame.length = 0;
  if (bytes[at] === 0x23) return readCompact(frame, bytes, at + 1);
  return bytes[at] === SPACE ? readShown(frame, bytes, at) : 'unreadable';
}

function readTime(frame: CanFrame, bytes: Uint8Array, start: number): number {
  let at = start;
  let seconds = 0;
  let fraction = 0;
  let scale = 1000;
  let byte = bytes[at] as number;
  for (; byte >= 0x30 && byte <= 0x39; byte = bytes[at] as number) {
    seconds = seconds * 10 + (byte - 0x30);
    at += 1;
  }
  if (at === start || at - start > 11) return -1;
  if (byte === 0x2e) {
    at += 1;
    byte = bytes[at] as number;
    const first = at;
    for (; byte >= 0x30 && byte <= 0x39; byte = bytes[at] as number) {
      fraction = fraction * 10 + (byte - 0x30);
      scale /= 10;
      at += 1;
    }
    if (at - first > 9) return -1;
  }
  if (byte !== 0x29) return -1;
  frame.timeMs = seconds * 1000 + (scale === 0.001 ? fraction / 1000 : fraction * scale);
  return at + 1;
}

// Some logs tell between interface and identifier whether the frame was received or sent, as in `RX - -`.
function skipDirection(bytes: Uint8Array, start: number): number {
  let at = start;
  while (bytes[at] === SPACE) at += 1;
  if ((bytes[at] !== 0x52 && bytes[at] !== 0x54) || bytes[at + 1] !== 0x58) return at;
  at += 2;
  for (let flags = 0; flags < 2; flags += 1) {
    while (bytes[at] === SPACE) at += 1;
    if (bytes[at + 1] === SPACE) at += 1;
  }
  while (bytes[at] === SPACE) at += 1;
  return at;
}

function readCompact(frame: CanFrame, bytes: Uint8Array, start: number): FrameOutcome {
  let at = start;
  if (bytes[at] === 0x23) return 'flexible';
  if (bytes[at] === 0x52) {
    frame.isRemote = true;
    return 'frame';
  }
  let length = 0;
  for (;;) {
    const high = HEX[bytes[at] as number] as number;
    if (high < 0) {
      if (bytes[at] !== 0x2e) break;
      at += 1;
      continue;
    }
    const low = HEX[bytes[at + 1] as number] as number;
    if (low < 0) return 'unreadable';
    if (length === FRAME_DATA_MAX) return 'too_long';
    frame.data[length] = high * 16 + low;
    length += 1;
    at += 2;
  }
  frame.length = length;
  return (bytes[at] as number) <= SPACE ? 'frame' : 'unreadable';
}

function readShown(frame: CanFrame, bytes: Uint8Array, start: number): FrameOutcome {
  let at = start;
  while (bytes[at] === SPACE) at += 1;
  if (bytes[at] !== 0x5b) return 'unreadable';
  at += 1;
  const stated = (bytes[at] as number) - 0x30;
  // Two digits are how a CAN FD frame states its length.
  if (bytes[at + 1] !== 0x5d) return stated >= 0 && stated <= 9 && bytes[at + 2] === 0x5d ? 'flexible' : 'unreadable';
  if (!(stated >= 0 && stated <= 9)) return 'unreadable';
  if (stated > FRAME_DATA_MAX) return 'too_long';
  at += 2;
  for (let i = 0; i < stated; i += 1) {
    while (bytes[at] === SPACE) at += 1;
    if (i === 0 && bytes[at] === 0x72) {
      frame.isRemote = true;
      return 'frame';
    }
    const high = HEX[bytes[at] as number] as number;
    const low = HEX[bytes[at + 1] as number] as number;
    if (high < 0 || low < 0) return 'unreadable';
    frame.data[i] = high * 16 + low;
    at += 2;
  }
  frame.length = stated;
  while (bytes[at] === SPACE) at += 1;
  // More bytes than the length says, or a text form of the bytes in quotes.
  if ((HEX[bytes[at] as number] as number) >= 0) return 'too_long';
  return 'frame';
}
