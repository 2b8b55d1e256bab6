import { describe, expect, test } from 'vitest';
import { DAY_MS, DEMO_DAYS, DEMO_END_MS, DEMO_START_MS } from './calendar.ts';
import { FAULT_SIZES } from './fault-sizes.ts';
import { growthAt } from './growth.ts';
import { createRandom } from './random.ts';
import { DEMO_SEED, DEMO_UNITS, demoTruth, demoUnit } from './scenario.ts';
import { simulateUnit, type UnitDay } from './simulate-unit.ts';

function firstWorkingDay(id: string, seed: number): { unit: UnitDay; copy: number[][] } {
  for (const unit of simulateUnit(demoUnit(id), { startMs: DEMO_START_MS, days: 5, seed })) {
    if (unit.count > 0) return { unit, copy: unit.columns.map((column) => Array.from(column.subarray(0, unit.count))) };
  }
  throw new Error('no working day in five');
}

/** Mean of one sensor over three days, in rows whose load lies in a band. */
function meanAtLoad(id: string, key: string, firstDay: number, band: readonly [number, number]): number {
  const plan = demoUnit(id);
  const place = (wanted: string) => plan.sensors.findIndex((fit) => fit.key === wanted);
  let sum = 0;
  let count = 0;
  for (const day of simulateUnit(plan, { startMs: DEMO_START_MS, firstDay, days: 3, seed: DEMO_SEED })) {
    const load = day.columns[place('engineLoad')] as Float64Array;
    const value = day.columns[place(key)] as Float64Array;
    for (let i = 0; i < day.count; i += 1) {
      if ((load[i] as number) < band[0] || (load[i] as number) > band[1]) continue;
      sum += value[i] as number;
      count += 1;
    }
  }
  return sum / count;
}

describe('the scenario', () => {
  test('120 days end with 31 October 2026', () => {
    expect(new Date(DEMO_END_MS - 1).toISOString()).toBe('2026-10-31T23:59:59.999Z');
    expect((DEMO_END_MS - DEMO_START_MS) / DAY_MS).toBe(DEMO_DAYS);
  });

  test('twelve units, seven with one fault each, five healthy', () => {
    const truth = demoTruth();
    expect(DEMO_UNITS).toHaveLength(12);
    expect(new Set(truth.map((entry) => entry.unit)).size).toBe(7);
    for (const entry of truth) {
      expect(Object.keys(FAULT_SIZES)).toContain(entry.fault);
      expect(entry.onsetDay).toBeGreaterThan(20);
      expect(entry.onsetDay).toBeLessThan(DEMO_DAYS);
    }
  });

  test('the same seed gives the same day, another seed another', () => {
    const once = firstWorkingDay('truck-23', 5);
    expect(firstWorkingDay('truck-23', 5).copy).toEqual(once.copy);
    expect(firstWorkingDay('truck-23', 6).copy).not.toEqual(once.copy);
  });

  test('times rise within a day and stay inside it', () => {
    const { unit } = firstWorkingDay('truck-12', 5);
    for (let i = 1; i < unit.count; i += 1) expect(unit.timesMs[i]).toBeGreaterThan(unit.timesMs[i - 1] as number);
    expect(unit.timesMs[unit.count - 1]).toBeLessThan(DEMO_START_MS + (unit.day + 1) * DAY_MS);
  });

  test('a leak shows as less boost and hotter exhaust than a healthy engine of the same day has', () => {
    const rise = (id: string, key: string) => meanAtLoad(id, key, 115, [60, 80]) - meanAtLoad(id, key, 4, [60, 80]);
    expect(rise('truck-07', 'boostPressure')).toBeLessThan(rise('truck-12', 'boostPressure') - 8);
    expect(rise('truck-07', 'exhaustTemperature')).toBeGreaterThan(rise('truck-12', 'exhaustTemperature') + 15);
  });

  test('a drifting charge-air sensor moves alone', () => {
    const rise = (key: string) => meanAtLoad('bus-31', key, 115, [20, 45]) - meanAtLoad('bus-31', key, 4, [20, 45]);
    // Eight kelvin of drift on top of what the colder air takes off.
    expect(rise('intakeManifoldTemperature') - rise('ambientAirTemperature')).toBeGreaterThan(5);
    expect(Math.abs(rise('boostPressure'))).toBeLessThan(4);
  });

  test('the port engine loses oil pressure and its starboard twin keeps it', () => {
    const drop = (id: string) =>
      meanAtLoad(id, 'oilPressure', 4, [60, 85]) - meanAtLoad(id, 'oilPressure', 113, [60, 85]);
    expect(drop('trawler-9-port')).toBeGreaterThan(70);
    expect(Math.abs(drop('trawler-9-starboard'))).toBeLessThan(20);
  });

  test('a pass run reaches thin air and comes back', () => {
    const plan = demoUnit('truck-19');
    const place = plan.sensors.findIndex((fit) => fit.key === 'barometricPressure');
    let lowest = 200;
    let last = 0;
    for (const day of simulateUnit(plan, { startMs: DEMO_START_MS, days: 11, seed: DEMO_SEED })) {
      const column = day.columns[place] as Float64Array;
      for (let i = 0; i < day.count; i += 1) {
        lowest = Math.min(lowest, column[i] as number);
        last = column[i] as number;
      }
    }
    expect(lowest).toBeLessThan(89);
    expect(last).toBeGreaterThan(93);
  });
});

describe('growth', () => {
  test('a line, a step and a sawtooth are nought before their onset', () => {
    const linear = { shape: 'linear', onsetMs: 100, fullMs: 200 } as const;
    expect([99, 150, 200, 900].map((at) => growthAt(linear, at))).toEqual([0, 0.5, 1, 1]);
    expect([99, 100].map((at) => growthAt({ shape: 'step', onsetMs: 100 }, at))).toEqual([0, 1]);
    const saw = { shape: 'sawtooth', onsetMs: 100, periodMs: 100, leftBehind: 0.2 } as const;
    expect([50, 150, 200].map((at) => growthAt(saw, at))).toEqual([0, 0.5, 0.2]);
    expect(growthAt(saw, 250)).toBeCloseTo(0.6, 12);
  });
});

describe('chance', () => {
  // Standard normal table: 2.5 % of draws lie above 1.96, mean 0, variance 1.
  test('normal draws have the moments and tails of the table', () => {
    const { normal } = createRandom(9);
    const count = 200_000;
    let sum = 0;
    let squares = 0;
    let above = 0;
    for (let i = 0; i < count; i += 1) {
      const draw = normal();
      sum += draw;
      squares += draw * draw;
      if (draw > 1.959964) above += 1;
    }
    expect(Math.abs(sum / count)).toBeLessThan(0.01);
    expect(Math.abs(squares / count - 1)).toBeLessThan(0.015);
    expect(Math.abs(above / count - 0.025)).toBeLessThan(0.0015);
  });
});

describe('sensors', () => {
  test('a stuck sensor repeats its value while the engine works', () => {
    const plan = demoUnit('truck-23');
    const growth = { shape: 'step', onsetMs: DEMO_START_MS } as const;
    const stuck = {
      ...plan,
      faults: [
        {
          faultId: 'sensor_egt_pre_turbine_drift',
          growth,
          sensor: { key: 'exhaustTemperature', stuckAt: 412 } as const,
        },
      ],
    };
    const place = plan.sensors.findIndex((fit) => fit.key === 'exhaustTemperature');
    for (const day of simulateUnit(stuck, { startMs: DEMO_START_MS, firstDay: 3, days: 1, seed: 1 })) {
      expect(day.count).toBeGreaterThan(500);
      expect(new Set(day.columns[place]?.subarray(0, day.count))).toEqual(new Set([412]));
    }
  });
});
