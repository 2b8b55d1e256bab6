const FIRST_MS = 1000;
const LONGEST_MS = 60_000;

/** Pauses between attempts to connect: 1 s, then twice the last, never above a minute. */
export type BackOff = { next(): number; reset(): void };

/**
 * Starts at the shortest pause.
 *
 * @param p.firstMs - Shortest pause; left out, 1 s.
 */
export function createBackOff(p: { firstMs?: number } = {}): BackOff {
  const first = p.firstMs ?? FIRST_MS;
  let pauseMs = first;
  return {
    next() {
      const now = pauseMs;
      pauseMs = Math.min(LONGEST_MS, pauseMs * 2);
      return now;
    },
    reset() {
      pauseMs = first;
    },
  };
}
