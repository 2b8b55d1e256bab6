import type { Clock } from './clock.ts';

/** A clock that stands still until it is put forward. */
export type ManualClock = Clock & {
  /** Puts the clock forward, calling what becomes due on the way, and lets what that began run on. */
  advance(ms: number): Promise<void>;
};

/** A manual clock. */
export function createManualClock(startMs: number): ManualClock {
  let nowMs = startMs;
  const due = new Set<{ readonly atMs: number; readonly call: () => void }>();
  const runOn = async () => {
    for (let i = 0; i < 20; i += 1) await new Promise((resolve) => setImmediate(resolve));
  };
  return {
    now: () => nowMs,
    after(ms, call) {
      const entry = { atMs: nowMs + ms, call };
      due.add(entry);
      return () => due.delete(entry);
    },
    async advance(ms) {
      const endMs = nowMs + ms;
      await runOn();
      for (;;) {
        const next = [...due].filter(({ atMs }) => atMs <= endMs).sort((a, b) => a.atMs - b.atMs)[0];
        if (next === undefined) break;
        due.delete(next);
        nowMs = Math.max(nowMs, next.atMs);
        next.call();
        await runOn();
      }
      nowMs = endMs;
    },
  };
}
