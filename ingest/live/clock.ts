/** Time as live sources know it; replaced in tests. */
export type Clock = {
  /** Ms since 1970 UTC. */
  now(): number;
  /** Calls back after so many ms; gives a function that calls it off. */
  after(ms: number, call: () => void): () => void;
};

/** The machine's own clock. */
export const systemClock: Clock = {
  now: () => Date.now(),
  after(ms, call) {
    const timer = setTimeout(call, ms);
    return () => clearTimeout(timer);
  },
};

/** Waits, or less when the signal is aborted. */
export function sleep(clock: Clock, p: { ms: number; signal?: AbortSignal }): Promise<void> {
  return new Promise((resolve) => {
    if (p.signal?.aborted === true) {
      resolve();
      return;
    }
    const finish = () => {
      cancel();
      p.signal?.removeEventListener('abort', finish);
      resolve();
    };
    const cancel = clock.after(p.ms, finish);
    p.signal?.addEventListener('abort', finish);
  });
}
