/**
 * A record as it is shown to people and other programs: every time in milliseconds becomes ISO 8601 in UTC, and its
 * name loses the unit (`sinceMs` becomes `since`), at every depth. Everything else stays as it is.
 *
 * @example withIsoTimes({ unit: 'truck-07', atMs: 0 }) // => { unit: 'truck-07', at: '1970-01-01T00:00:00.000Z' }
 */
export function withIsoTimes(value: unknown): unknown {
  if (Array.isArray(value)) return value.map(withIsoTimes);
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, inner]): [string, unknown] =>
      typeof inner === 'number' && key.endsWith('Ms') ? [key.slice(0, -2), isoTime(inner)] : [key, withIsoTimes(inner)],
    ),
  );
}

/** A time as ISO 8601 in UTC. */
export function isoTime(ms: number): string {
  return new Date(ms).toISOString();
}
