/** A time as a report shows it, ISO 8601 in UTC; `null` where there was none (NaN). */
export function isoTime(timeMs: number): string | null {
  return Number.isNaN(timeMs) ? null : new Date(Math.round(timeMs)).toISOString();
}
