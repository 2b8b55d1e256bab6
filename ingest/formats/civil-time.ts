const DAYS_IN_MONTH = [31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31] as const;

/**
 * Milliseconds since 1970-01-01T00:00 of a date and time of the proleptic Gregorian calendar (ISO 8601), without any
 * zone: the caller subtracts the offset.
 *
 * @param p.month - 1 to 12.
 * @param p.second - 0 to 60; a leap second is read as the first instant of the next minute.
 * @returns NaN when there is no such date or time; it does not leave the decoders.
 */
export function civilMs(p: {
  year: number;
  month: number;
  day: number;
  hour: number;
  minute: number;
  second: number;
  millisecond: number;
}): number {
  if (!(p.month >= 1 && p.month <= 12 && p.day >= 1 && p.day <= daysInMonth(p.year, p.month))) return Number.NaN;
  if (!(p.hour <= 23 && p.minute <= 59 && p.second <= 60)) return Number.NaN;
  const days = daysSince1970(p.year, p.month, p.day);
  return (((days * 24 + p.hour) * 60 + p.minute) * 60 + p.second) * 1000 + p.millisecond;
}

function daysInMonth(year: number, month: number): number {
  const leap = month === 2 && year % 4 === 0 && (year % 100 !== 0 || year % 400 === 0);
  return (DAYS_IN_MONTH[month - 1] ?? 0) + (leap ? 1 : 0);
}

// The year is counted from March, so that the leap day is its last; 719,468 days lie between 0000-03-01 and 1970-01-01.
function daysSince1970(year: number, month: number, day: number): number {
  const y = month <= 2 ? year - 1 : year;
  const monthFromMarch = (month + 9) % 12;
  const leapDays = Math.floor(y / 4) - Math.floor(y / 100) + Math.floor(y / 400);
  return 365 * y + leapDays + Math.floor((153 * monthFromMarch + 2) / 5) + day - 1 - 719_468;
}
