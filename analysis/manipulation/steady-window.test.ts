import { describe, expect, test } from 'vitest';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import { benchUnit } from '../../test/support/bench-unit.ts';
import { initialSteadyState, steadyStep } from './steady-window.ts';

// Settling and window: common practice, no source, as stated beside DUTIES. A regional truck: 60 s, then a 60 s window.
const unit = benchUnit({ duty: 'regional' });

const WARM_UP_S = 900;

/** One sample a second of the given load shares; boost is 100 kPa times the load. */
function block(loads: readonly number[], fromS = 0): SampleBlock {
  const t = loads.map((_, i) => (fromS + i) * 1000);
  return {
    version: 1,
    unit: unit.id,
    source: 'test',
    t,
    signals: {
      engineSpeed: t.map(() => 1400),
      fuelRate: loads.map((load) => load * 76.8),
      boostPressure: loads.map((load) => load * 100),
    },
  };
}

const hold = (load: number, seconds: number) => new Array<number>(seconds).fill(load);

describe('steadyStep', () => {
  test('gives no point before the engine is warm', () => {
    expect(steadyStep(initialSteadyState(), block(hold(0.5, WARM_UP_S - 10)), unit).points).toEqual([]);
  });

  test('gives a point of the whole window once load and speed have settled', () => {
    const { points } = steadyStep(initialSteadyState(), block([...hold(0.3, WARM_UP_S), ...hold(0.6, 200)]), unit);
    const last = points[points.length - 1]?.point;
    expect(last?.signals.boostPressure?.mean).toBeCloseTo(60, 9);
    expect((last?.toMs ?? 0) - (last?.fromMs ?? 0)).toBe(60_000);
    expect(last?.fromMs).toBeGreaterThanOrEqual((WARM_UP_S + 60) * 1000);
  });

  test('a change of load within the window voids it: the transient enters no point', () => {
    const loads = [...hold(0.3, WARM_UP_S), ...hold(0.6, 100), ...hold(0.8, 100), ...hold(0.6, 100)];
    const { points } = steadyStep(initialSteadyState(), block(loads), unit);
    expect(points.every(({ point }) => point.toMs <= WARM_UP_S * 1000)).toBe(true);
  });

  test('a silence of minutes ends the run, so no window spans it', () => {
    const first = steadyStep(initialSteadyState(), block([...hold(0.5, WARM_UP_S + 40)]), unit);
    const later = steadyStep(first.state, block(hold(0.5, 100), WARM_UP_S + 40 + 600), unit);
    expect(later.points).toEqual([]);
  });

  test('one wild value does not move the mean of a window', () => {
    const wild = block([...hold(0.5, WARM_UP_S + 200)]);
    const boost = [...(wild.signals.boostPressure ?? [])];
    boost[WARM_UP_S + 30] = 400;
    const { points } = steadyStep(
      initialSteadyState(),
      { ...wild, signals: { ...wild.signals, boostPressure: boost } },
      unit,
    );
    for (const { point } of points) expect(point.signals.boostPressure?.mean).toBeCloseTo(50, 9);
  });

  test('a standing engine gives no point and does not count as running', () => {
    const standing = block(hold(0, 2000));
    const { points, state } = steadyStep(
      initialSteadyState(),
      { ...standing, signals: { ...standing.signals, engineSpeed: standing.t.map(() => 0) } },
      unit,
    );
    expect(points).toEqual([]);
    expect(state.runningMs).toBe(0);
  });

  test('a speed that is not repeated has expired after its time and ends the run', () => {
    const sparse = block(hold(0.5, WARM_UP_S + 400));
    const speeds = sparse.t.map((_, i) => (i <= WARM_UP_S ? 1400 : null));
    const { points } = steadyStep(
      initialSteadyState(),
      { ...sparse, signals: { ...sparse.signals, engineSpeed: speeds } },
      unit,
    );
    expect(points.every(({ point }) => point.toMs <= (WARM_UP_S + 15) * 1000)).toBe(true);
  });
});
