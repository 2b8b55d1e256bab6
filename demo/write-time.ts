import { twoDigits } from './write-number.ts';

const DAY_MS = 86_400_000;
const HOUR_MS = 3_600_000;

/** Creates a writer of clock times in ISO 8601, UTC with a Z. Dates are remembered: rows of one day share theirs. */
export function createIsoTime(): (timeMs: number) => string {
  let day = Number.NaN;
  let date = '';
  return (timeMs) => {
    const nextDay = Math.floor(timeMs / DAY_MS);
    if (nextDay !== day) {
      day = nextDay;
      date = new Date(day * DAY_MS).toISOString().slice(0, 10);
    }
    return `${date}T${clock(timeMs - day * DAY_MS)}Z`;
  };
}

/** Creates a writer of local times as DD.MM.YYYY HH:mm:ss in a zone, daylight saving and all. */
export function createLocalTime(timeZone: string): (timeMs: number) => string {
  const offset = new Intl.DateTimeFormat('en-GB', { timeZone, timeZoneName: 'longOffset' });
  let hour = Number.NaN;
  let offsetMs = 0;
  let day = Number.NaN;
  let date = '';
  return (timeMs) => {
    const nextHour = Math.floor(timeMs / HOUR_MS);
    if (nextHour !== hour) {
      hour = nextHour;
      offsetMs = offsetOf(
        offset.formatToParts(new Date(timeMs)).find((part) => part.type === 'timeZoneName')?.value ?? '',
      );
    }
    const local = timeMs + offsetMs;
    const nextDay = Math.floor(local / DAY_MS);
    if (nextDay !== day) {
      day = nextDay;
      const iso = new Date(day * DAY_MS).toISOString();
      date = `${iso.slice(8, 10)}.${iso.slice(5, 7)}.${iso.slice(0, 4)}`;
    }
    return `${date} ${clock(local - day * DAY_MS)}`;
  };
}

/** GMT+02:00 as milliseconds; plain GMT is zero. */
function offsetOf(name: string): number {
  const match = /GMT([+-])(\d\d):(\d\d)/.exec(name);
  if (match === null) return 0;
  const size = Number(match[2]) * HOUR_MS + Number(match[3]) * 60_000;
  return match[1] === '-' ? -size : size;
}

function clock(sinceMidnightMs: number): string {
  const seconds = Math.floor(sinceMidnightMs / 1000);
  const minutes = Math.floor(seconds / 60);
  const hours = Math.floor(minutes / 60);
  return `${twoDigits(hours)}:${twoDigits(minutes - hours * 60)}:${twoDigits(seconds - minutes * 60)}`;
}
