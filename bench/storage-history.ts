// How large the history of a fleet becomes, how fast it is written in bulk and point by point, and how fast it is read.
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { ChannelKey, ChannelReading } from '../schemas/channel.ts';
import type { HistoryPoint } from '../schemas/history-point.ts';
import type { Indicator, IndicatorKey } from '../schemas/indicator.ts';
import type { SignalSummary } from '../schemas/operating-point.ts';
import type { SignalKey } from '../schemas/signals.ts';
import { openSqliteHistory } from '../storage/history/sqlite.ts';

const UNITS = 12;
const DAYS = 120;
const POINTS_A_DAY = 150;
const START_MS = 1_700_000_000_000 - (1_700_000_000_000 % 86_400_000);
const MINUTES_BETWEEN = 9;

let state = 12345;
function uniform(): number {
  state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
  return state / 2 ** 32;
}
function noise(sd: number): number {
  return sd * (uniform() + uniform() + uniform() + uniform() - 2) * Math.sqrt(3);
}

/** A point of an engine whose load wanders; every number has full noise, as worst case for packing. */
function point(unit: string, toMs: number, hours: number): HistoryPoint {
  const load = 30 + uniform() * 60;
  const signals: { [K in SignalKey]?: SignalSummary } = {};
  const add = (key: SignalKey, mean: number, sd: number) => {
    signals[key] = { mean: mean + noise(sd / 5), sd: sd * (0.8 + 0.4 * uniform()), count: 300 };
  };
  add('engineSpeed', 1100 + load * 6, 8);
  add('engineLoad', load, 1.5);
  add('boostPressure', load * 1.8, 1.6);
  add('intakeManifoldTemperature', 30 + load * 0.2, 0.6);
  add('compressorInletTemperature', 22 + noise(4), 0.4);
  add('compressorOutletTemperature', 40 + load * 1.4, 1.2);
  add('exhaustTemperature', 300 + load * 2.4, 4);
  add('oilPressure', 330 + load * 0.8, 5);
  add('oilTemperature', 85 + load * 0.15, 0.3);
  add('coolantTemperature', 82 + load * 0.05, 0.3);
  add('barometricPressure', 101 + noise(0.6), 0.1);
  add('ambientAirTemperature', 16 + noise(5), 0.2);
  add('fuelRate', load * 0.6, 0.5);
  add('vehicleSpeed', 70 + noise(10), 1);
  signals.engineHours = { mean: hours, sd: 0.03, count: 300 };
  const indicator = (value: number, spread: number, from: string[]): Indicator => ({
    value: value + noise(spread),
    standardUncertainty: spread * (0.9 + 0.2 * uniform()),
    from,
  });
  const indicators: { [K in IndicatorKey]?: Indicator } = {
    compressorPressureRatio: indicator(1 + load * 0.018, 0.02, ['boostPressure', 'barometricPressure']),
    compressorIsentropicEfficiency: indicator(0.72, 0.01, ['compressorPressureRatio', 'compressorOutletTemperature']),
    coolerEffectiveness: indicator(0.85, 0.01, [
      'compressorOutletTemperature',
      'intakeManifoldTemperature',
      'ambientAirTemperature',
    ]),
    coolerApproach: indicator(14 + load * 0.1, 0.5, ['intakeManifoldTemperature', 'ambientAirTemperature']),
    airMassFlow: indicator(0.1 + load * 0.004, 0.005, ['boostPressure', 'engineSpeed', 'displacement']),
    chargeAirDensity: indicator(1.2 + load * 0.015, 0.01, ['boostPressure', 'intakeManifoldTemperature']),
    coolerPressureDropCoefficient: { absent: 'no sensor for the cooler pressure drop' },
    filterPressureDropCoefficient: { absent: 'no sensor for the air-filter pressure drop' },
  };
  const channels: { [K in ChannelKey]?: ChannelReading } = {};
  const channel = (key: ChannelKey, observed: number | undefined, sd: number) => {
    if (observed === undefined) return;
    channels[key] = {
      observed,
      expected: observed + noise(sd),
      sd: sd * (1 + 0.05 * uniform()),
      judgement: 'judged',
      cusum: noise(1.5),
    };
  };
  const value = (key: IndicatorKey) => {
    const one = indicators[key];
    return one === undefined || 'absent' in one ? undefined : one.value;
  };
  channel('boost', signals.boostPressure?.mean, 2);
  channel('chargeAirTemperature', signals.intakeManifoldTemperature?.mean, 1);
  channel('coolerApproach', value('coolerApproach'), 0.8);
  channel('coolerEffectiveness', value('coolerEffectiveness'), 0.012);
  channel('compressorEfficiency', value('compressorIsentropicEfficiency'), 0.012);
  channel('exhaustTemperature', signals.exhaustTemperature?.mean, 6);
  channel('oilPressure', signals.oilPressure?.mean, 7);
  return { point: { version: 1, unit, fromMs: toMs - 299_000, toMs, signals }, indicators, channels };
}

function day(unit: string, index: number): HistoryPoint[] {
  return Array.from({ length: POINTS_A_DAY }, (_, i) =>
    point(unit, START_MS + index * 86_400_000 + i * MINUTES_BETWEEN * 60_000, 12_000 + index * 22.5 + i * 0.15),
  );
}

/** Processor time, as the machine may be shared; what the disk takes beside it is little. */
async function secondsOf(work: () => Promise<unknown>): Promise<number> {
  const from = process.cpuUsage();
  await work();
  const spent = process.cpuUsage(from);
  return (spent.user + spent.system) / 1e6;
}

const folder = mkdtempSync(join(tmpdir(), 'chargeair-bench-'));
try {
  const say = (text: string) => process.stdout.write(`${text}\n`);
  const path = join(folder, 'history.sqlite');
  let history = openSqliteHistory({ path });
  let bulkSeconds = 0;
  for (let u = 0; u < UNITS; u += 1) {
    for (let from = 0; from < DAYS; from += 5) {
      const batch = Array.from({ length: 5 }, (_, i) => day(`unit-${u}`, from + i)).flat();
      bulkSeconds += await secondsOf(() => history.write(batch));
    }
  }
  await history.close();
  const total = UNITS * DAYS * POINTS_A_DAY;
  const bytes = statSync(path).size;
  say(
    `bulk: ${total} points, ${Math.round(total / bulkSeconds)} points/s, ${(bytes / 1e6).toFixed(1)} MB, ${(bytes / total).toFixed(0)} bytes a point`,
  );

  history = openSqliteHistory({ path });
  for (let d = DAYS; d < 365; d += 1) await history.write(day('unit-0', d));
  const year = { unit: 'unit-0', fromMs: START_MS, toMs: START_MS + 365 * 86_400_000 };
  for (const of of [
    { kind: 'channel', name: 'boost' },
    { kind: 'signal', name: 'oilPressure' },
  ] as const) {
    await history.series({ ...year, of, buckets: 800 });
    const seconds = await secondsOf(() => history.series({ ...year, of, buckets: 800 }));
    say(`series of a unit-year, ${of.kind}: ${(seconds * 1000).toFixed(0)} ms`);
  }
  const all = await secondsOf(async () => {
    for await (const _ of history.points(year));
  });
  say(`all ${365 * POINTS_A_DAY} points of a unit-year: ${all.toFixed(2)} s`);
  const live = day('unit-live', 0);
  const liveSeconds = await secondsOf(async () => {
    for (const one of live) await history.write([one]);
  });
  say(`live, one point a write through a whole day: ${((liveSeconds / live.length) * 1000).toFixed(2)} ms a write`);
  const backfill = Array.from({ length: 30 }, (_, d) => day('unit-backfill', d)).flat();
  const backfillSeconds = await secondsOf(async () => {
    for (let i = 0; i < backfill.length; i += 6) await history.write(backfill.slice(i, i + 6));
  });
  say(`backfill, 6 points a write: ${Math.round(backfill.length / backfillSeconds)} points/s`);
  const seconds = await secondsOf(() => history.latest({ unit: 'unit-0' }));
  say(`latest: ${(seconds * 1000).toFixed(2)} ms`);
  await history.close();
} finally {
  rmSync(folder, { recursive: true, force: true });
}
