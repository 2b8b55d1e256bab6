import { describe, expect, test } from 'vitest';
import type { Drivers } from './drivers.ts';
import { extendExpectation, isInEnvelope, type LearningPoint, learnExpectation, predict } from './expectation.ts';
import { gasPathFeatures, presenceOf } from './features.ts';

/** A made-up truth, smooth in the drivers; the regression must give it back where it was seen and doubt itself elsewhere. */
const truth = (d: { load: number; speed: number; air: number }) =>
  160 * d.load * d.load + 40 * (d.speed - 0.7) - 8 * d.air * d.load;

function drivers(p: { load: number; speed?: number; air?: number }): Drivers {
  return { load: p.load, speed: p.speed ?? 0.7, air: p.air ?? 0, barometer: 0, sink: undefined, oil: undefined };
}

/** Points spread by fixed irrational steps, so that the test needs no chance. */
function points(count: number, wild = 0): LearningPoint[] {
  return Array.from({ length: count }, (_, i) => {
    const d = {
      load: 0.2 + 0.6 * ((i * 0.618) % 1),
      speed: 0.6 + 0.3 * ((i * 0.414) % 1),
      air: -0.5 + ((i * 0.732) % 1),
    };
    const noise = 2 * (((i * 0.271) % 1) - 0.5);
    return { drivers: drivers(d), value: truth(d) + noise + (i < wild ? 80 : 0), hour: i };
  });
}

const features = gasPathFeatures(presenceOf(drivers({ load: 0.5 })));
const learn = (learning: readonly LearningPoint[]) => {
  if (features === undefined) throw new Error('the unit has a load signal');
  const expectation = learnExpectation({ points: learning, features, span: 150, minSd: 0.1 });
  if (expectation === undefined) throw new Error('every point has its drivers');
  return { expectation, at: (d: Drivers) => predict(expectation, features.values(d) as Float64Array) };
};

describe('expectation', () => {
  test('gives the truth back within the noise where it was learnt', () => {
    const { at } = learn(points(200));
    for (const load of [0.3, 0.5, 0.7]) {
      expect(Math.abs(at(drivers({ load })).expected - truth({ load, speed: 0.7, air: 0 }))).toBeLessThan(1);
    }
  });

  test('is hardly moved by a tenth of wild points, which would move least squares', () => {
    const { at } = learn(points(200, 20));
    expect(Math.abs(at(drivers({ load: 0.5 })).expected - truth({ load: 0.5, speed: 0.7, air: 0 }))).toBeLessThan(2.5);
  });

  test('knows less and less the farther it is from what was seen', () => {
    const { at } = learn(points(200));
    const variances = [0, 1, 2, 3].map((air) => at(drivers({ load: 0.6, air })).variance);
    expect([...variances].sort((a, b) => a - b)).toEqual(variances);
  });

  test('nothing is judged outside the envelope: beyond the load seen, or where it is unsure of the air', () => {
    const { expectation, at } = learn(points(200));
    const inside = (d: Drivers) => isInEnvelope(expectation, d, at(d));
    expect(inside(drivers({ load: 0.5 }))).toBe(true);
    expect(inside(drivers({ load: 0.95 }))).toBe(false);
    expect(inside(drivers({ load: 0.6, air: 8 }))).toBe(false);
  });

  test('a new season that joins becomes part of the envelope', () => {
    const learnt = learn(points(200));
    let { expectation } = learnt;
    const cold = (load: number) => drivers({ load, air: -8 });
    expect(
      isInEnvelope(expectation, cold(0.6), predict(expectation, features?.values(cold(0.6)) as Float64Array)),
    ).toBe(false);
    for (let i = 0; i < 12; i += 1) {
      const load = 0.3 + 0.04 * i;
      expectation = extendExpectation(expectation, {
        features: features?.values(cold(load)) as Float64Array,
        value: truth({ load, speed: 0.7, air: -8 }),
        drivers: cold(load),
      });
    }
    const prediction = predict(expectation, features?.values(cold(0.6)) as Float64Array);
    expect(isInEnvelope(expectation, cold(0.6), prediction)).toBe(true);
    expect(Math.abs(prediction.expected - truth({ load: 0.6, speed: 0.7, air: -8 }))).toBeLessThan(2);
  });
});
