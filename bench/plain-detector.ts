import { leastSquares } from '../analysis/detection/least-squares.ts';
import type { HistoryPoint } from '../schemas/history-point.ts';
import type { SignalKey } from '../schemas/signals.ts';
import type { Unit } from '../schemas/unit.ts';

const DAY_MS = 86_400_000;
const LEARNING_DAYS = 14;
const K = 0.5;
const CHANNELS: readonly SignalKey[] = [
  'boostPressure',
  'intakeManifoldTemperature',
  'exhaustTemperature',
  'oilPressure',
  'airFilterDifferentialPressure',
  'compressorOutletTemperature',
];

/** What a plain detector says of one unit. */
export type PlainSeries = {
  /** How many separate upsets it raises at a limit: channels that signal together are one. */
  readonly upsets: (limit: number) => number;
  /** When it first signals after a moment, `undefined` when never. */
  readonly firstAfter: (limit: number, fromMs: number) => number | undefined;
};

/**
 * What a good engineer would do by hand: two weeks of learning, least squares of each signal on load, speed and ambient,
 * daily medians of the residuals, a CUSUM with k = 0.5. It is given the same steady points as our own analysis.
 */
export function createPlainDetector(points: readonly HistoryPoint[], unit: Unit): PlainSeries {
  const series = CHANNELS.flatMap((key) => (unit.sensors[key] === undefined ? [] : [dailyDeviations(points, key)]));
  const signals = (limit: number, fromMs: number) => {
    const times: number[] = [];
    for (const days of series) {
      let [high, low] = [0, 0];
      for (const day of days) {
        if (day.atMs < fromMs) continue;
        high = Math.max(0, high + day.z - K);
        low = Math.max(0, low - day.z - K);
        if (high > limit || low > limit) {
          times.push(day.atMs);
          [high, low] = [0, 0];
        }
      }
    }
    return times.sort((a, b) => a - b);
  };
  return {
    upsets(limit) {
      let count = 0;
      let until = Number.NEGATIVE_INFINITY;
      for (const atMs of signals(limit, 0)) {
        if (atMs > until) count += 1;
        until = Math.max(until, atMs + 7 * DAY_MS);
      }
      return count;
    },
    firstAfter: (limit, fromMs) => signals(limit, fromMs)[0],
  };
}

function dailyDeviations(points: readonly HistoryPoint[], key: SignalKey): readonly { atMs: number; z: number }[] {
  const rows = points.flatMap(({ point }) => {
    const [y, load, speed] = [point.signals[key]?.mean, point.signals.fuelRate?.mean, point.signals.engineSpeed?.mean];
    const ambient = (point.signals.ambientAirTemperature ?? point.signals.engineRoomTemperature)?.mean;
    return y === undefined || load === undefined || speed === undefined || ambient === undefined
      ? []
      : [{ atMs: point.toMs, y, x: [load, speed, ambient] }];
  });
  const first = rows[0]?.atMs ?? 0;
  const learning = rows.filter((row) => row.atMs < first + LEARNING_DAYS * DAY_MS);
  const fit = leastSquares({ rows: learning.map((row) => row.x), responses: learning.map((row) => row.y) });
  if (fit === undefined) return [];
  const byDay = new Map<number, number[]>();
  for (const row of rows) {
    const expected = row.x.reduce(
      (sum, value, i) => sum + value * (fit.coefficients[i + 1] ?? 0),
      fit.coefficients[0] ?? 0,
    );
    const day = Math.floor(row.atMs / DAY_MS);
    const list = byDay.get(day) ?? [];
    list.push(row.y - expected);
    byDay.set(day, list);
  }
  const daily = [...byDay].map(([day, values]) => ({ atMs: (day + 1) * DAY_MS, value: median(values) }));
  const known = daily.filter((one) => one.atMs < first + LEARNING_DAYS * DAY_MS).map((one) => one.value);
  const mean = known.reduce((sum, value) => sum + value, 0) / known.length;
  const sd = Math.sqrt(known.reduce((sum, value) => sum + (value - mean) ** 2, 0) / Math.max(1, known.length - 1));
  return daily
    .filter((one) => one.atMs >= first + LEARNING_DAYS * DAY_MS)
    .map((one) => ({ atMs: one.atMs, z: (one.value - mean) / Math.max(sd, 1e-9) }));
}

function median(values: readonly number[]): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[sorted.length >> 1] ?? 0;
}
