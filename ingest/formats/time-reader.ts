import { accept, type Checked, type Reject, refuse } from '../../schemas/reject.ts';
import type { CsvRule } from '../../schemas/source-rule.ts';
import { readDecimal } from './decimal.ts';
import { readIsoTime } from './iso-time.ts';
import { rawText } from './raw-text.ts';
import { compileTimePattern } from './time-pattern.ts';
import { createTimeZone, type TimeZone } from './time-zone.ts';

/** Reads the time column of one file, row by row. */
export type TimeReader = {
  /** Milliseconds since 1970 UTC, not rounded; NaN when the bytes are no time. `problem` then says why. */
  read(bytes: Uint8Array, start: number, end: number): number;
  /** Says that the row of the time just read stands; later local times are read as running on from it. */
  keep(): void;
  /** Why the bytes that were just read are no time. */
  problem(bytes: Uint8Array, start: number, end: number): Reject;
  /** Kept local times so far that were twice, when the clocks went back. */
  repeatedTimes(): number;
};

/**
 * The reader for a rule's time column.
 *
 * A local time that was twice is taken as the first one, unless that would go back behind the row before: a log runs
 * forward. A local time that never was is refused.
 *
 * @returns A reject when the zone or the pattern is unknown.
 */
export function createTimeReader(rule: CsvRule): Checked<TimeReader> {
  const { format, timeZone, startsAt } = rule.time;
  const zone = timeZone === undefined ? undefined : createTimeZone(timeZone);
  if (timeZone !== undefined && zone === undefined) {
    return refuse(
      'zone_unknown',
      'time',
      `"${timeZone}" is no known time zone; write an IANA name such as Europe/Berlin in the source rule.`,
    );
  }
  switch (format) {
    case 'epoch_seconds':
      return accept(numericReader({ rule, scaleMs: 1000, startMs: 0 }));
    case 'epoch_milliseconds':
      return accept(numericReader({ rule, scaleMs: 1, startMs: 0 }));
    case 'seconds_since_start': {
      const startMs = startsAt === undefined ? Number.NaN : parseIsoInstant(startsAt);
      if (Number.isNaN(startMs)) {
        return refuse(
          'time_unreadable',
          'time',
          'The log counts seconds from its start, and the source rule does not say when that was; give startsAt with an offset.',
        );
      }
      return accept(numericReader({ rule, scaleMs: 1000, startMs }));
    }
    case 'iso8601':
      return accept(isoReader(zone));
    default: {
      const pattern = compileTimePattern(format);
      if (pattern === undefined) {
        return refuse(
          'time_unreadable',
          'time',
          `"${format}" is no time format; write iso8601, epoch_seconds, epoch_milliseconds, seconds_since_start, or a pattern such as DD.MM.YYYY HH:mm:ss.`,
        );
      }
      return accept(patternReader({ pattern, format, zone }));
    }
  }
}

/**
 * An ISO 8601 time with an offset.
 *
 * @returns Milliseconds since 1970 UTC; NaN when the text is no such time.
 */
export function parseIsoInstant(text: string): number {
  const bytes = new TextEncoder().encode(text);
  const time = { localMs: 0, offsetMs: undefined as number | undefined };
  if (!readIsoTime(time, bytes, 0, bytes.length) || time.offsetMs === undefined) return Number.NaN;
  return time.localMs - time.offsetMs;
}

function numericReader(p: { rule: CsvRule; scaleMs: number; startMs: number }): TimeReader {
  return {
    read(bytes, start, end) {
      const number = readDecimal(bytes, start, end, p.rule.decimal);
      if (!Number.isNaN(number)) return p.startMs + number * p.scaleMs;
      // Some loggers write the time with a point and the values with a comma.
      return p.startMs + readDecimal(bytes, start, end, '.') * p.scaleMs;
    },
    problem: (bytes, start, end) => unreadable(bytes.subarray(start, end), `a number (${p.rule.time.format})`),
    keep: () => {},
    repeatedTimes: () => 0,
  };
}

function isoReader(zone: TimeZone | undefined): TimeReader {
  const time = { localMs: 0, offsetMs: undefined as number | undefined };
  const local = createLocalTimes(zone);
  return {
    read(bytes, start, end) {
      if (!readIsoTime(time, bytes, start, end)) return Number.NaN;
      return time.offsetMs === undefined ? local.utcMs(time.localMs) : local.plain(time.localMs - time.offsetMs);
    },
    problem: (bytes, start, end) =>
      readIsoTime(time, bytes, start, end)
        ? skipped(bytes.subarray(start, end))
        : unreadable(bytes.subarray(start, end), 'an ISO 8601 date and time such as 2024-03-31T14:05:00Z'),
    keep: local.keep,
    repeatedTimes: local.repeatedTimes,
  };
}

function patternReader(p: {
  pattern: (text: string) => number;
  format: string;
  zone: TimeZone | undefined;
}): TimeReader {
  const local = createLocalTimes(p.zone);
  const localMs = (bytes: Uint8Array, start: number, end: number) => p.pattern(rawText(bytes.subarray(start, end)));
  return {
    read(bytes, start, end) {
      const ms = localMs(bytes, start, end);
      return Number.isNaN(ms) ? ms : local.utcMs(ms);
    },
    problem: (bytes, start, end) =>
      Number.isNaN(localMs(bytes, start, end))
        ? unreadable(bytes.subarray(start, end), `a time of the form ${p.format}`)
        : skipped(bytes.subarray(start, end)),
    keep: local.keep,
    repeatedTimes: local.repeatedTimes,
  };
}

function createLocalTimes(zone: TimeZone | undefined) {
  let readMs = Number.NaN;
  let readWasTwice = false;
  let keptMs = -Infinity;
  let repeated = 0;
  const plain = (utcMs: number): number => {
    readMs = utcMs;
    readWasTwice = false;
    return utcMs;
  };
  return {
    plain,
    repeatedTimes: () => repeated,
    keep() {
      keptMs = readMs;
      if (readWasTwice) repeated += 1;
    },
    utcMs(localMs: number): number {
      if (zone === undefined) return plain(localMs);
      const time = zone.zonedTime(localMs);
      if (time.kind === 'skipped') return Number.NaN;
      if (time.kind === 'once') return plain(time.utcMs);
      plain(time.firstUtcMs >= keptMs ? time.firstUtcMs : time.secondUtcMs);
      readWasTwice = true;
      return readMs;
    },
  };
}

function unreadable(bytes: Uint8Array, wanted: string): Reject {
  return {
    code: 'time_unreadable',
    field: 'time',
    detail: `"${rawText(bytes).slice(0, 60)}" is not ${wanted}; correct it, or state the time format of the file in the source rule.`,
  };
}

function skipped(bytes: Uint8Array): Reject {
  return {
    code: 'time_skipped',
    field: 'time',
    detail: `The clocks were put forward over "${rawText(bytes).slice(0, 60)}", so that local time never was; state the time zone in which the recorder really runs.`,
  };
}
