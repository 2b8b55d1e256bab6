import { civilMs } from './civil-time.ts';

/** How a local time stands in its zone. `skipped` never was, when clocks went forward; `repeated` was twice, when they went back. */
export type ZonedTime =
  | { readonly kind: 'once'; readonly utcMs: number }
  | { readonly kind: 'repeated'; readonly firstUtcMs: number; readonly secondUtcMs: number }
  | { readonly kind: 'skipped' };

/** A zone of the IANA time zone database. */
export type TimeZone = { zonedTime(localMs: number): ZonedTime };

// Zones change their offset on the quarter hour, so one look-up serves a quarter hour; the cache is emptied when full.
const QUARTER_HOUR_MS = 900_000;
const DAY_MS = 86_400_000;
const CACHE_MAX = 4096;

/**
 * The zone of a name such as `Europe/Berlin`.
 *
 * @returns `undefined` when the IANA database of this machine has no such zone.
 */
export function createTimeZone(name: string): TimeZone | undefined {
  const format = zoneFormat(name);
  if (format === undefined) return undefined;
  const cache = new Map<number, number>();
  const offsetAt = (utcMs: number): number => {
    const quarter = Math.floor(utcMs / QUARTER_HOUR_MS);
    const known = cache.get(quarter);
    if (known !== undefined) return known;
    if (cache.size >= CACHE_MAX) cache.clear();
    const offset = localMsOf(format, quarter * QUARTER_HOUR_MS) - quarter * QUARTER_HOUR_MS;
    cache.set(quarter, offset);
    return offset;
  };
  return { zonedTime: (localMs) => zonedTime(localMs, offsetAt) };
}

// The offsets of the day before and the day after are the only two that can hold; each is tried against itself.
function zonedTime(localMs: number, offsetAt: (utcMs: number) => number): ZonedTime {
  const before = localMs - offsetAt(localMs - DAY_MS);
  const after = localMs - offsetAt(localMs + DAY_MS);
  const beforeHolds = before + offsetAt(before) === localMs;
  const afterHolds = after + offsetAt(after) === localMs;
  if (beforeHolds && afterHolds && before !== after) {
    return { kind: 'repeated', firstUtcMs: Math.min(before, after), secondUtcMs: Math.max(before, after) };
  }
  if (beforeHolds) return { kind: 'once', utcMs: before };
  if (afterHolds) return { kind: 'once', utcMs: after };
  return { kind: 'skipped' };
}

function zoneFormat(name: string): Intl.DateTimeFormat | undefined {
  try {
    return new Intl.DateTimeFormat('en-GB', {
      timeZone: name,
      calendar: 'gregory',
      hourCycle: 'h23',
      year: 'numeric',
      month: 'numeric',
      day: 'numeric',
      hour: 'numeric',
      minute: 'numeric',
      second: 'numeric',
    });
  } catch (error) {
    if (error instanceof RangeError) return undefined;
    throw error;
  }
}

function localMsOf(format: Intl.DateTimeFormat, utcMs: number): number {
  const parts = new Map(format.formatToParts(utcMs).map((part) => [part.type, Number(part.value)] as const));
  const part = (type: Intl.DateTimeFormatPartTypes) => parts.get(type) ?? 0;
  return civilMs({
    year: part('year'),
    month: part('month'),
    day: part('day'),
    hour: part('hour'),
    minute: part('minute'),
    second: part('second'),
    millisecond: 0,
  });
}
