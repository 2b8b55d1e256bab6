import { formatClock, formatDay, zoneAheadMs } from './format.ts';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;
const HOUR_STEPS = [1, 3, 6, 12];
const DAY_STEPS = [1, 2, 3, 4, 5, 7, 10, 14, 28, 56, 91, 182, 365];
const TIME_STEPS_MS = [...HOUR_STEPS.map((hours) => hours * HOUR_MS), ...DAY_STEPS.map((days) => days * DAY_MS)];

/**
 * Round values that an axis is marked at: multiples of 1, 2 or 5 times a power of ten.
 *
 * @param p.min - Lower end, below `max`.
 * @param p.most - Most marks wanted, at least 2.
 */
export function valueTicks(p: { min: number; max: number; most: number }): number[] {
  const raw = (p.max - p.min) / p.most;
  const power = 10 ** Math.floor(Math.log10(raw));
  const step = ([1, 2, 5, 10].find((factor) => factor * power >= raw) ?? 10) * power;
  const ticks: number[] = [];
  for (let n = Math.ceil(p.min / step - 1e-9); n * step <= p.max + step * 1e-9; n += 1) ticks.push(n * step);
  return ticks;
}

/** A mark on the time axis. */
export type TimeTick = { readonly atMs: number; readonly label: string };

/**
 * Marks on a time axis at local hours or midnights of the zone, across changes of its clock.
 *
 * @param p.most - Most marks wanted, at least 2.
 */
export function timeTicks(p: { fromMs: number; toMs: number; zone: string; most: number }): TimeTick[] {
  const step = TIME_STEPS_MS.find((candidate) => (p.toMs - p.fromMs) / candidate <= p.most) ?? 365 * DAY_MS;
  const ticks: TimeTick[] = [];
  const firstLocalMs = Math.ceil((p.fromMs + zoneAheadMs(p.fromMs, p.zone)) / step) * step;
  for (let localMs = firstLocalMs; ; localMs += step) {
    // The offset is asked for near the instant itself, so midnight stays midnight after the clocks change.
    const guessMs = localMs - zoneAheadMs(localMs, p.zone);
    const atMs = localMs - zoneAheadMs(guessMs, p.zone);
    if (atMs > p.toMs) return ticks;
    if (atMs >= p.fromMs) {
      const midnight = localMs % DAY_MS === 0;
      ticks.push({ atMs, label: step >= DAY_MS || midnight ? formatDay(atMs, p.zone) : formatClock(atMs, p.zone) });
    }
  }
}
