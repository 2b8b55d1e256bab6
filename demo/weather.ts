import { createRandom, seedOf } from './random.ts';

const DAY_MS = 86_400_000;
const YEAR_DAYS = 365.25;
/** 1 January 2026, so that the season follows the calendar. */
const YEAR_START_MS = 1_767_225_600_000;

/** The climate of one invented region. */
export type Climate = {
  readonly name: string;
  readonly meanC: number;
  /** Half the span between summer and winter, and between day and night, K. */
  readonly seasonK: number;
  readonly dayK: number;
  readonly seaMeanC: number;
  readonly seaSeasonK: number;
  /** A hot spell, if any: first day, length and height. */
  readonly hotSpell?: { readonly startMs: number; readonly days: number; readonly heightK: number };
};

/** Weather by time: deterministic, smooth, and the same for all units of a region. */
export type Weather = {
  readonly ambientC: (timeMs: number) => number;
  readonly seaLevelKpa: (timeMs: number) => number;
  readonly seaC: (timeMs: number) => number;
};

/** Creates the weather of a region: season, day and night, passing highs and lows, and a hot spell where planned. */
export function createWeather(climate: Climate, seed: number): Weather {
  const daily = (channel: number, day: number) => createRandom(seedOf(climate.name, seed, channel, day)).normal();
  const cache = new Map<number, number>();
  const knot = (channel: number, day: number): number => {
    const key = channel * 1e6 + day;
    let value = cache.get(key);
    if (value === undefined) {
      value = 0.6 * daily(channel, day) + 0.5 * daily(channel, day - 1) + 0.35 * daily(channel, day - 2);
      cache.set(key, value);
    }
    return value;
  };
  const smooth = (channel: number, timeMs: number): number => {
    const place = timeMs / DAY_MS;
    const day = Math.floor(place);
    const part = place - day;
    const ease = part * part * (3 - 2 * part);
    return knot(channel, day) * (1 - ease) + knot(channel, day + 1) * ease;
  };
  const season = (timeMs: number, peakDay: number) =>
    Math.cos((2 * Math.PI * ((timeMs - YEAR_START_MS) / DAY_MS - peakDay)) / YEAR_DAYS);
  const spell = (timeMs: number): number => {
    if (climate.hotSpell === undefined) return 0;
    const day = (timeMs - climate.hotSpell.startMs) / DAY_MS;
    const ramp = Math.min(day, climate.hotSpell.days - day) / 1.5;
    return climate.hotSpell.heightK * Math.min(Math.max(ramp, 0), 1);
  };
  return {
    ambientC: (timeMs) =>
      climate.meanC +
      climate.seasonK * season(timeMs, 201) +
      climate.dayK * Math.cos(2 * Math.PI * (timeMs / DAY_MS - 14.5 / 24)) +
      2.6 * smooth(1, timeMs) +
      spell(timeMs),
    seaLevelKpa: (timeMs) => 101.4 + 0.75 * smooth(2, timeMs),
    seaC: (timeMs) => climate.seaMeanC + climate.seaSeasonK * season(timeMs, 232) + 0.4 * smooth(3, timeMs),
  };
}

/** Barometric pressure at a height, kPa: the standard atmosphere (ISO 2533) below 11 km. */
export function barometerAtHeightKpa(seaLevelKpa: number, heightM: number): number {
  return seaLevelKpa * (1 - 2.25577e-5 * heightM) ** 5.25588;
}
