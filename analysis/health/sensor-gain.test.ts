import { expect, test } from 'vitest';
import { unitOfPlan } from '../../bench/simulated-fleet.ts';
import { demoUnit } from '../../demo/scenario.ts';
import { sensorGains } from './sensor-gain.ts';

const unit = unitOfPlan(demoUnit('ferry-5'), 'ferry');
const evenly = (...causes: string[]) => causes.map((cause) => ({ cause, probability: 1 / causes.length }));

// Information theory (Cover & Thomas, Elements of Information Theory, chapter 2): what is learnt never exceeds the
// entropy of the cause, which is 1 bit for two equal causes and 0 for one. Fact of the trade: a cooler fouled on the
// air side drops more pressure, one fouled on the water side does not.
test('two causes that differ in the pressure drop are told apart by its sensor, almost by one bit', () => {
  const [best] = sensorGains(unit, evenly('cac_air_side_fouled', 'cac_coolant_side_fouled'));
  expect(best?.signal).toBe('chargeAirCoolerDifferentialPressure');
  expect(best?.bits).toBeGreaterThan(0.7);
  expect(best?.bits).toBeLessThanOrEqual(1);
});

test('nothing is left to tell when one cause stands alone', () => {
  expect(sensorGains(unit, evenly('cac_air_side_fouled'))).toEqual([]);
});

test('a sensor that is fitted is never proposed, and without a finding the usual causes decide', () => {
  const gains = sensorGains(unit);
  expect(gains.length).toBeGreaterThan(0);
  for (const { signal, bits } of gains) {
    expect(unit.sensors[signal]).toBeUndefined();
    expect(bits).toBeGreaterThan(0);
  }
  const better = { ...unit, sensors: { ...unit.sensors, [gains[0]?.signal ?? '']: {} } };
  expect(sensorGains(better).map(({ signal }) => signal)).not.toContain(gains[0]?.signal);
});
