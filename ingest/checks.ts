import type { Reject } from '../schemas/reject.ts';
import { SIGNALS, type SignalKey } from '../schemas/signals.ts';

/** A recorder's clock may run ahead of ours by this much before its times are refused. Common practice, no source. */
export const CLOCK_AHEAD_TOLERANCE_MS = 10 * 60 * 1000;

/**
 * No reading of a fleet is older: 2000-01-01 UTC. Recorders that lost their clock start at 1970 or 1980 (from memory:
 * the zero of Unix time and of the PC clock), and those times must not land in the history.
 */
export const EARLIEST_TIME_MS = 946_684_800_000;

/** The times that are believed, ms since 1970 UTC, both ends included. */
export type ClockLimits = { readonly earliestMs: number; readonly latestMs: number };

/**
 * The times that are believed by a receiver whose clock shows `nowMs`.
 *
 * @param nowMs - The receiver's time, ms since 1970 UTC.
 */
export function clockLimits(nowMs: number): ClockLimits {
  return { earliestMs: EARLIEST_TIME_MS, latestMs: nowMs + CLOCK_AHEAD_TOLERANCE_MS };
}

/**
 * Why a time is not believed.
 *
 * @param timeMs - The reading's own time, ms since 1970 UTC.
 * @returns `undefined` when the time lies within the limits.
 */
export function clockReject(timeMs: number, limits: ClockLimits): Reject | undefined {
  if (timeMs > limits.latestMs) {
    const ahead = Math.round((timeMs - limits.latestMs + CLOCK_AHEAD_TOLERANCE_MS) / 60_000);
    return {
      code: 'clock_ahead',
      field: 'time',
      detail: `The time is ${ahead} minutes later than now; set the recorder's clock, or state the time zone of the times in the source rule.`,
    };
  }
  if (timeMs >= limits.earliestMs) return undefined;
  return {
    code: 'clock_before_fleet',
    field: 'time',
    detail:
      'The time is before the year 2000, as a recorder writes it that lost its clock; set the clock, or give startsAt in the source rule if the times count from the start of the log.',
  };
}

/**
 * Why a value cannot be: it lies outside what such an engine can physically show.
 *
 * @param p.key - The signal.
 * @param p.value - In the signal's canonical unit.
 * @returns `undefined` when the value lies within the range of the signal table.
 */
export function rangeReject(p: { key: SignalKey; value: number }): Reject | undefined {
  const signal = SIGNALS[p.key];
  if (p.value >= signal.min && p.value <= signal.max) return undefined;
  return {
    code: 'value_out_of_range',
    field: p.key,
    detail: `${p.key} is ${Number(p.value.toPrecision(7))} ${signal.unit}, outside ${signal.min} to ${signal.max} ${signal.unit}; check the sensor, and the unit and reference stated in the source rule.`,
  };
}
