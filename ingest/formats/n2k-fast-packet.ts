/** Longest message of a fast packet: 6 bytes in its first frame and 7 in each of 31 more. */
export const FAST_PACKET_MAX_BYTES = 223;

type Packet = { readonly data: Uint8Array; readonly size: number; next: number; received: number };

/** What came of a frame: the whole message, or that an earlier message was cut short by it. */
export type FastPacketOutcome = { readonly data: Uint8Array | undefined; readonly isEarlierLost: boolean };

const NOTHING: FastPacketOutcome = { data: undefined, isEarlierLost: false };
const LOST: FastPacketOutcome = { data: undefined, isEarlierLost: true };

/** Puts fast packets together. */
export type FastPackets = {
  /**
   * Takes a frame of a message that comes as a fast packet.
   *
   * @param message - Index of the PGN among those read, below 256.
   */
  frame(message: number, p: { sender: number; data: Uint8Array; length: number }): FastPacketOutcome;
  /** Messages that lack a frame so far. */
  unfinished(): number;
  /** Frames that were not the next one of any message. */
  outOfSequence(): number;
};

/**
 * Fast packets of all senders at once (layout as in canboat/canboat at 01d0dc3d): byte 1 holds the sequence counter in
 * its top 3 bits and the frame's number in the others, byte 2 of the first frame the length. One message is open for
 * each PGN, sender and counter, so interleaved messages of one sender do not mix, and memory is bounded by 2,048 open
 * messages a PGN.
 */
export function createFastPackets(): FastPackets {
  const open = new Map<number, Packet>();
  let outOfSequence = 0;
  return {
    unfinished: () => open.size,
    outOfSequence: () => outOfSequence,
    frame(message, { sender, data, length }) {
      const head = data[0] as number;
      const key = (message << 11) | (sender << 3) | (head >> 5);
      const index = head & 0x1f;
      const packet = open.get(key);
      if (length < 2) {
        outOfSequence += 1;
        return NOTHING;
      }
      if (index === 0) {
        const isEarlierLost = packet !== undefined;
        const size = data[1] as number;
        open.delete(key);
        if (size > FAST_PACKET_MAX_BYTES || size === 0) {
          outOfSequence += 1;
          return isEarlierLost ? LOST : NOTHING;
        }
        const started: Packet = { data: new Uint8Array(size), size, next: 1, received: 0 };
        add(started, data, 2, length);
        if (started.received >= size) return { data: started.data, isEarlierLost };
        open.set(key, started);
        return isEarlierLost ? LOST : NOTHING;
      }
      if (packet === undefined || index !== packet.next) {
        outOfSequence += 1;
        if (packet === undefined) return NOTHING;
        open.delete(key);
        return LOST;
      }
      packet.next += 1;
      add(packet, data, 1, length);
      // A frame shorter than seven bytes before the last leaves a gap; what it held cannot be placed.
      const expected = Math.min(packet.size, 6 + 7 * index);
      if (packet.received < expected) {
        open.delete(key);
        return LOST;
      }
      if (packet.received < packet.size) return NOTHING;
      open.delete(key);
      return { data: packet.data, isEarlierLost: false };
    },
  };
}

function add(packet: Packet, data: Uint8Array, from: number, to: number): void {
  for (let at = from; at < to && packet.received < packet.size; at += 1) {
    packet.data[packet.received] = data[at] as number;
    packet.received += 1;
  }
}
