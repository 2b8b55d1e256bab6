import { EARLIEST_TIME_MS } from '../checks.ts';
import { parseIsoInstant } from './time-reader.ts';

/**
 * The clock of a log whose times count from 1970 or from its own start; which of the two shows in the first of them.
 *
 * @param p.startsAt - When a log that counts from its start began, ISO 8601 with offset.
 * @returns A clock whose `timeMs` is ms since 1970 UTC, or `undefined` when the start is needed and not known.
 */
export function createLogClock(p: { startsAt?: string | undefined }): {
  timeMs(writtenMs: number): number | undefined;
} {
  const startMs = p.startsAt === undefined ? undefined : parseIsoInstant(p.startsAt);
  let shiftMs: number | undefined;
  return {
    timeMs(writtenMs) {
      shiftMs ??= writtenMs < EARLIEST_TIME_MS ? startMs : 0;
      return shiftMs === undefined ? undefined : writtenMs + shiftMs;
    },
  };
}
