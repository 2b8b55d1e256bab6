/** PGN of the transport protocol's control messages, SAE J1939-21. */
export const TRANSPORT_CONTROL_PGN = 60_416;
/** PGN of its data packets. */
export const TRANSPORT_DATA_PGN = 60_160;

const REQUEST_TO_SEND = 16;
const CLEAR_TO_SEND = 17;
const END_OF_MESSAGE = 19;
const BROADCAST_ANNOUNCE = 32;
const ABORT = 255;
const GLOBAL_ADDRESS = 255;

const PACKET_BYTES = 7;
const MESSAGE_MAX_BYTES = 1785;
/** Sessions under way at one time; a bus with more is being flooded. */
const SESSIONS_MAX = 512;
/** Kinds of completed messages that are told apart. */
const COMPLETED_MAX = 1000;

/** A message put together from packets. */
export type TransportedMessage = {
  readonly pgn: number;
  readonly sourceAddress: number;
  readonly how: 'broadcast' | 'connection';
  readonly data: Uint8Array;
};

/** What went over the transport protocol. */
export type TransportSummary = {
  broadcastAnnounce: number;
  requestToSend: number;
  clearToSend: number;
  endOfMessage: number;
  abort: number;
  /** Control messages that make no sense. */
  other: number;
  dataWithoutSession: number;
  /** Packets that were not the next one of their session. */
  outOfSequence: number;
  replacedBeforeComplete: number;
  unfinishedAtEnd: number;
  readonly completed: {
    readonly pgn: number;
    readonly sourceAddress: number;
    readonly how: TransportedMessage['how'];
    count: number;
  }[];
};

/** Puts messages of more than eight bytes together. */
export type Transport = {
  /** A control message. @returns The PGN of a message that will not be completed, if this ended one. */
  control(p: { sourceAddress: number; destination: number; data: Uint8Array; length: number }): number | undefined;
  /** A data packet. @returns The message when this was its last packet. */
  packet(p: {
    sourceAddress: number;
    destination: number;
    data: Uint8Array;
    length: number;
  }): TransportedMessage | undefined;
  summary(): TransportSummary;
};

type Session = {
  readonly pgn: number;
  readonly size: number;
  readonly data: Uint8Array;
  readonly how: 'broadcast' | 'connection';
  next: number;
  received: number;
};

/** Reads the transport protocol of SAE J1939-21 for all senders at once: one session a pair of source and destination. */
export function createTransport(): Transport {
  const sessions = new Map<number, Session>();
  const tally: TransportSummary = {
    broadcastAnnounce: 0,
    requestToSend: 0,
    clearToSend: 0,
    endOfMessage: 0,
    abort: 0,
    other: 0,
    dataWithoutSession: 0,
    outOfSequence: 0,
    replacedBeforeComplete: 0,
    unfinishedAtEnd: 0,
    completed: [],
  };
  const open = (key: number, data: Uint8Array, how: Session['how']): number | undefined => {
    const size = (data[1] as number) | ((data[2] as number) << 8);
    const packets = data[3] as number;
    const pgn = (data[5] as number) | ((data[6] as number) << 8) | ((data[7] as number) << 16);
    if (size <= 8 || size > MESSAGE_MAX_BYTES || packets !== Math.ceil(size / PACKET_BYTES)) {
      tally.other += 1;
      return undefined;
    }
    tally[how === 'broadcast' ? 'broadcastAnnounce' : 'requestToSend'] += 1;
    const replaced = sessions.get(key);
    if (replaced !== undefined) tally.replacedBeforeComplete += 1;
    else if (sessions.size >= SESSIONS_MAX) {
      const [oldest] = sessions.keys();
      if (oldest !== undefined) sessions.delete(oldest);
      tally.replacedBeforeComplete += 1;
    }
    sessions.set(key, { pgn, size, data: new Uint8Array(packets * PACKET_BYTES), how, next: 1, received: 0 });
    return replaced?.pgn;
  };
  const complete = (session: Session, sourceAddress: number): TransportedMessage => {
    const { pgn, how } = session;
    const known = tally.completed.find(
      (item) => item.pgn === pgn && item.sourceAddress === sourceAddress && item.how === how,
    );
    if (known !== undefined) known.count += 1;
    else if (tally.completed.length < COMPLETED_MAX) tally.completed.push({ pgn, sourceAddress, how, count: 1 });
    return { pgn, sourceAddress, how, data: session.data.subarray(0, session.size) };
  };
  return {
    control({ sourceAddress, destination, data, length }) {
      const key = (sourceAddress << 8) | destination;
      // The receiver answers, so its session runs the other way.
      const answered = (destination << 8) | sourceAddress;
      const kind = length === 8 ? data[0] : undefined;
      // The standard announces to all, yet real units announce to one destination as well and then send without asking.
      if (kind === BROADCAST_ANNOUNCE) return open(key, data, 'broadcast');
      if (kind === REQUEST_TO_SEND && destination !== GLOBAL_ADDRESS) return open(key, data, 'connection');
      if (kind === CLEAR_TO_SEND) {
        tally.clearToSend += 1;
        const session = sessions.get(answered);
        // Asked for again from an earlier packet on.
        if (session !== undefined && (data[2] as number) > 0 && (data[2] as number) <= session.next)
          session.next = data[2] as number;
      } else if (kind === END_OF_MESSAGE) tally.endOfMessage += 1;
      else if (kind === ABORT) {
        tally.abort += 1;
        const session = sessions.get(answered) ?? sessions.get(key);
        if (session?.how !== 'connection') return undefined;
        sessions.delete(sessions.has(answered) ? answered : key);
        return session.pgn;
      } else tally.other += 1;
      return undefined;
    },
    packet({ sourceAddress, destination, data, length }) {
      const key = (sourceAddress << 8) | destination;
      const session = sessions.get(key);
      if (session === undefined || length < 2) {
        tally.dataWithoutSession += 1;
        return undefined;
      }
      const sequence = data[0] as number;
      if (sequence !== session.next) {
        tally.outOfSequence += 1;
        return undefined;
      }
      session.data.set(data.subarray(1, length), (sequence - 1) * PACKET_BYTES);
      session.next = sequence + 1;
      if (sequence * PACKET_BYTES < session.size) return undefined;
      sessions.delete(key);
      return complete(session, sourceAddress);
    },
    summary: () => ({ ...tally, unfinishedAtEnd: sessions.size, completed: [...tally.completed] }),
  };
}
