import { describe, expect, test } from 'vitest';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import { benchUnit } from '../../test/support/bench-unit.ts';
import { limitStep, oilMinimumKpa } from './hard-limits.ts';

// Delays and dead band: terms of IEC 62682; the values are those stated in limits.ts.
const unit = benchUnit({
  sensors: { engineSpeed: {}, boostPressure: { reference: 'gauge' }, oilPressure: { reference: 'gauge' } },
  limits: {
    source: 'test',
    boostMaxKpa: 200,
    oilPressureMin: [
      { speedRpm: 2000, pressureKpa: 300 },
      { speedRpm: 600, pressureKpa: 100 },
    ],
  },
});

/** One sample a second: speed and boost, with oil pressure well above its limit. */
function block(p: { fromS: number; boost: readonly number[]; speed?: number }): SampleBlock {
  const t = p.boost.map((_, i) => (p.fromS + i) * 1000);
  return {
    version: 1,
    unit: 'bench-1',
    source: 'test',
    t,
    signals: {
      engineSpeed: t.map(() => p.speed ?? 1500),
      boostPressure: p.boost,
      oilPressure: t.map(() => 400),
    },
  };
}

const repeat = (value: number, count: number) => new Array<number>(count).fill(value);

describe('hard limits', () => {
  test('an excursion shorter than the on-delay raises nothing', () => {
    const { events } = limitStep(
      {},
      block({ fromS: 0, boost: [...repeat(150, 60), ...repeat(210, 10), ...repeat(150, 60)] }),
      unit,
    );
    expect(events).toEqual([]);
  });

  test('an excursion that lasts is raised once, with its worst value, and cleared after the off-delay', () => {
    const boost = [...repeat(150, 60), ...repeat(210, 30), 230, ...repeat(210, 30), ...repeat(150, 120)];
    const { events } = limitStep({}, block({ fromS: 0, boost }), unit);
    expect(events.map((event) => event.state)).toEqual(['raised', 'cleared']);
    expect(events[0]).toMatchObject({ kind: 'overboost', sinceMs: 60_000, limit: 200, worst: 210 });
    expect(events[1]).toMatchObject({ worst: 230 });
  });

  test('a value within the dead band below the limit does not clear it', () => {
    const boost = [...repeat(150, 60), ...repeat(210, 30), ...repeat(198, 300)];
    const { events } = limitStep({}, block({ fromS: 0, boost }), unit);
    expect(events.map((event) => event.state)).toEqual(['raised']);
  });

  test('how the samples are cut into blocks makes no difference', () => {
    const boost = [...repeat(150, 60), ...repeat(210, 40), ...repeat(150, 120)];
    const whole = limitStep({}, block({ fromS: 0, boost }), unit).events;
    let states = {};
    const parts = [0, 37, 70, 71, 150].flatMap((from, i, cuts) => {
      const result = limitStep(states, block({ fromS: from, boost: boost.slice(from, cuts[i + 1]) }), unit);
      states = result.states;
      return result.events;
    });
    expect(parts).toEqual(whole);
  });

  test('a sample seen before is passed over', () => {
    const first = limitStep({}, block({ fromS: 0, boost: [...repeat(150, 60), ...repeat(210, 40)] }), unit);
    const again = limitStep(first.states, block({ fromS: 0, boost: [...repeat(150, 60), ...repeat(210, 40)] }), unit);
    expect(again.events).toEqual([]);
    expect(again.states).toEqual(first.states);
  });

  test('oil pressure of a standing engine is no finding', () => {
    const standing = block({ fromS: 0, boost: repeat(0, 300), speed: 0 });
    const { events } = limitStep(
      {},
      { ...standing, signals: { ...standing.signals, oilPressure: repeat(0, 300) } },
      unit,
    );
    expect(events).toEqual([]);
  });

  test('oil minimum lies on the straight line between the points of the fleet file and holds beyond its ends', () => {
    const curve = unit.limits.oilPressureMin ?? [];
    expect(oilMinimumKpa(curve, 1300)).toBeCloseTo(200, 9);
    expect(oilMinimumKpa(curve, 300)).toBe(100);
    expect(oilMinimumKpa(curve, 2500)).toBe(300);
  });
});
