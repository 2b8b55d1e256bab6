/** The demonstration's own calendar: 120 days that end with 31 October 2026. */
export const DEMO_DAYS = 120;
export const DAY_MS = 86_400_000;
/** Midnight UTC after the last day. */
export const DEMO_END_MS = Date.UTC(2026, 10, 1);
export const DEMO_START_MS = DEMO_END_MS - DEMO_DAYS * DAY_MS;

/** Time of a day of the demonstration, counted from 0; fractions are allowed. */
export function dayMs(day: number): number {
  return DEMO_START_MS + day * DAY_MS;
}
