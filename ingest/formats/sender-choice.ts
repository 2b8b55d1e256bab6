/**
 * A sender is believed while its last valid value is no older: the slowest message here comes every two seconds, so
 * five are missed before the next one steps in. Common practice, no source.
 */
export const SENDER_ALIVE_MS = 10_000;

/** One quantity as one sender sends it. */
export type Stream = {
  /** Which of several streams of one signal is believed: the lowest rank that is alive. Equal for no two of them. */
  readonly rank: number;
  lastValidMs: number;
};

/** A stream before its first value. */
export function createStream(rank: number): Stream {
  return { rank, lastValidMs: Number.NaN };
}

/** The stream that is believed for one signal of one unit. */
export type SenderChoice = {
  chosen: Stream | undefined;
  /** A better one that came within a second of which the chosen one has a share; it has the next. */
  next: Stream | undefined;
  /** Newest second that a stream has a share of. */
  lastSecond: number;
};

/** No stream is believed yet. */
export function createSenderChoice(): SenderChoice {
  return { chosen: undefined, next: undefined, lastSecond: Number.NEGATIVE_INFINITY };
}

/**
 * Whether a valid value of this stream is to be taken, where several senders may give one signal. They are never mixed:
 * a better one takes over from the second after, and a lesser one when the better has been silent for
 * {@link SENDER_ALIVE_MS}, so a mean over a second is of one sender alone.
 */
export function isBelieved(choice: SenderChoice, stream: Stream, timeMs: number): boolean {
  stream.lastValidMs = timeMs;
  const second = Math.floor(timeMs / 1000);
  const isNewSecond = second > choice.lastSecond;
  if (isNewSecond) {
    choice.lastSecond = second;
    if (choice.next !== undefined) choice.chosen = choice.next;
    choice.next = undefined;
  }
  const { chosen } = choice;
  if (chosen === stream) return true;
  const isBetter =
    chosen === undefined || stream.rank < chosen.rank || Math.abs(timeMs - chosen.lastValidMs) > SENDER_ALIVE_MS;
  if (!isBetter) return false;
  if (!isNewSecond && chosen !== undefined) {
    if (choice.next === undefined || stream.rank < choice.next.rank) choice.next = stream;
    return false;
  }
  choice.chosen = stream;
  return true;
}
