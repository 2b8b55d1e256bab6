import { CHANNELS, type ChannelKey } from '../schemas/channel.ts';
import { isSignalKey, SIGNALS } from '../schemas/signals.ts';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

const formatters = new Map<string, Intl.DateTimeFormat>();

function formatter(zone: string, options: Intl.DateTimeFormatOptions): Intl.DateTimeFormat {
  const key = `${zone} ${JSON.stringify(options)}`;
  const known = formatters.get(key);
  if (known !== undefined) return known;
  const made = new Intl.DateTimeFormat('en-GB', { timeZone: zone, hourCycle: 'h23', ...options });
  formatters.set(key, made);
  return made;
}

/** Date and time in a zone, the zone's own short name with it: `Wed 25 Nov 2026, 10:42 EET`. */
export function formatTime(ms: number, zone: string): string {
  return formatter(zone, {
    weekday: 'short',
    day: 'numeric',
    month: 'short',
    year: 'numeric',
    hour: '2-digit',
    minute: '2-digit',
    timeZoneName: 'short',
  }).format(ms);
}

/** Day and time of day without year and zone, where both stand beside it: `Wed 25 Nov, 10:42`. */
export function formatShortTime(ms: number, zone: string): string {
  return formatter(zone, {
    weekday: 'short',
    day: 'numeric',
    month: 'short',
    hour: '2-digit',
    minute: '2-digit',
  }).format(ms);
}

/** Day of the month in a zone: `25 Nov`. */
export function formatDay(ms: number, zone: string): string {
  return formatter(zone, { day: 'numeric', month: 'short' }).format(ms);
}

/** Time of day in a zone: `10:42`. */
export function formatClock(ms: number, zone: string): string {
  return formatter(zone, { hour: '2-digit', minute: '2-digit' }).format(ms);
}

/** The same instant as RFC 3339 in UTC, for the `datetime` of a `time` element. */
export function formatMachineTime(ms: number): string {
  return new Date(ms).toISOString();
}

/** How far a zone's clock is ahead of UTC at an instant, ms. */
export function zoneAheadMs(ms: number, zone: string): number {
  const parts = formatter(zone, {
    year: 'numeric',
    month: 'numeric',
    day: 'numeric',
    hour: '2-digit',
    minute: '2-digit',
    second: '2-digit',
  }).formatToParts(ms);
  const part = (type: Intl.DateTimeFormatPartTypes) => Number(parts.find((each) => each.type === type)?.value ?? 0);
  const local = Date.UTC(part('year'), part('month') - 1, part('day'), part('hour'), part('minute'), part('second'));
  return local - Math.floor(ms / 1000) * 1000;
}

/** A span in the one unit that says most, without sign: `40 min`, `6 h`, `12 days`. */
export function formatSpan(spanMs: number): string {
  const span = Math.abs(spanMs);
  if (span < HOUR_MS) return `${Math.round(span / 60_000)} min`;
  if (span < 2 * DAY_MS) return `${Math.round(span / HOUR_MS)} h`;
  return `${Math.round(span / DAY_MS)} days`;
}

/** How a time stands to now: `in 2 days`, `6 h ago`, `now`. */
export function formatDistance(ms: number, nowMs: number): string {
  if (Math.abs(ms - nowMs) < 60_000) return 'now';
  return ms > nowMs ? `in ${formatSpan(ms - nowMs)}` : `${formatSpan(ms - nowMs)} ago`;
}

/** A probability as a whole percentage; never 0 or 100, which would be certainty. */
export function formatPercent(probability: number): string {
  if (probability < 0.01) return 'under 1\u00a0%';
  if (probability > 0.99) return 'over 99\u00a0%';
  return `${Math.round(probability * 100)}\u00a0%`;
}

/** A value with as many decimals as three figures need, and a true minus sign. */
export function formatNumber(value: number): string {
  const size = Math.abs(value);
  const decimals = size >= 100 || size === 0 ? 0 : size >= 10 ? 1 : size >= 1 ? 2 : 3;
  return value.toFixed(decimals).replace('-', '−');
}

const SYMBOLS: Readonly<Record<string, string>> = { degC: '°C', '1': '', '%': '%', state: '' };

/** The sign of a unit for people: `°C` for `degC`, nothing for a pure number. */
export function unitSymbol(unit: string): string {
  return SYMBOLS[unit] ?? unit;
}

/** What a channel or signal is, in the trade's words and with its unit; the key itself when it is unknown. */
export function describeSubject(subject: string): { term: string; unit: string } {
  if (Object.hasOwn(CHANNELS, subject)) {
    const { term, unit } = CHANNELS[subject as ChannelKey];
    return { term, unit: unitSymbol(unit) };
  }
  if (isSignalKey(subject)) return { term: SIGNALS[subject].term, unit: unitSymbol(SIGNALS[subject].unit) };
  return { term: subject, unit: '' };
}

/** A text with a capital first letter, to begin a sentence or a title. */
export function capital(text: string): string {
  return text.charAt(0).toUpperCase() + text.slice(1);
}
