import { describe, expect, test } from 'vitest';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import { benchUnit } from '../../test/support/bench-unit.ts';
import { plausibilityEvents, plausibilityStep } from './plausibility.ts';

// With the engine stopped a gauge sensor reads zero and an absolute one the barometer: a fact of what they measure.
const unit = benchUnit({
  sensors: {
    engineSpeed: {},
    fuelRate: {},
    boostPressure: { reference: 'gauge' },
    barometricPressure: {},
    exhaustTemperature: {},
  },
});

type Columns = { speed: number; boost: number | null; exhaust?: number | null; fuel?: (i: number) => number };

function judge(p: Columns, hours: number) {
  const t = Array.from({ length: hours * 360 }, (_, i) => i * 10_000);
  const block: SampleBlock = {
    version: 1,
    unit: unit.id,
    source: 'test',
    t,
    signals: {
      engineSpeed: t.map(() => p.speed),
      fuelRate: t.map((_, i) => p.fuel?.(i) ?? 30),
      boostPressure: t.map(() => p.boost),
      barometricPressure: t.map(() => 84),
      exhaustTemperature: t.map((_, i) => (p.exhaust === undefined ? 300 + (i % 50) : p.exhaust)),
    },
  };
  const states = plausibilityStep({ states: {}, block, unit, afterMs: -1 });
  return plausibilityEvents(states, { unit, atMs: t[t.length - 1] ?? 0 }).events.map(
    (event) => `${event.signal} ${event.doubt}`,
  );
}

const swinging = (i: number) => 10 + 50 * ((i % 60) / 60);

describe('plausibility of sensors', () => {
  test('a gauge sensor that reads zero at standstill is believed', () => {
    expect(judge({ speed: 0, boost: 1 }, 1)).toEqual([]);
  });

  test('a gauge sensor that reads the barometer at standstill sends absolute pressure, at any height', () => {
    expect(judge({ speed: 0, boost: 83 }, 1)).toEqual(['boostPressure reads_absolute']);
  });

  test('a reading of minus the barometer at standstill has the barometer taken off twice', () => {
    expect(judge({ speed: 0, boost: -84 }, 1)).toEqual(['boostPressure reads_gauge']);
  });

  test('a sensor that stands still while the load swings is stuck', () => {
    expect(judge({ speed: 1400, boost: 60, fuel: swinging }, 1)).toEqual(['boostPressure stuck']);
  });

  test('a sensor that stands still at a steady load is believed: coarse sensors repeat themselves', () => {
    expect(judge({ speed: 1400, boost: 60 }, 3)).toEqual([]);
  });

  test('a fitted sensor without a value for hours of running is missing', () => {
    expect(judge({ speed: 1400, boost: 60, exhaust: null }, 5)).toEqual(['exhaustTemperature missing']);
  });

  test('a sensor without a value while the engine stands is not missed', () => {
    expect(judge({ speed: 0, boost: 0, exhaust: null }, 24)).toEqual([]);
  });
});
