import { describe, expect, test } from 'vitest';
import { DEMO_UNITS } from '../scenario.ts';
import { commandedFuelKgS } from './engine-spec.ts';
import { HEALTHY } from './fault-effects.ts';
import { type Conditions, restingGasState } from './gas-state.ts';
import { designConditions, sizePlant } from './size-plant.ts';
import { solveGasPath } from './solve.ts';

// From memory, no source: a running point is a property of the engine, so the road that leads to it must not matter.
describe('the running point does not depend on where the search began', () => {
  test.each(DEMO_UNITS.map((unit) => [unit.id, unit.spec] as const))('%s', (_id, spec) => {
    const plant = sizePlant(spec);
    const warm = restingGasState();
    const at = (speedShare: number, load: number): Conditions => {
      const speedRpm = Math.max(speedShare * spec.ratedSpeedRpm, spec.idleSpeedRpm);
      const fuelKgS = commandedFuelKgS(spec, speedRpm, load);
      return { ...designConditions(spec), speedRpm, fuelKgS, fuelRatio: fuelKgS / spec.design.fuelKgS };
    };
    for (const speedShare of [0.35, 0.55, 0.65, 0.8, 1]) {
      for (const load of [1, 0.05, 0.5, -0.05, 0.9, 0.3]) {
        const conditions = at(speedShare, load);
        const cold = restingGasState();
        for (let settle = 0; settle < 4; settle += 1) {
          solveGasPath(plant, conditions, HEALTHY, warm);
          solveGasPath(plant, conditions, HEALTHY, cold);
        }
        expect(Math.abs(warm.manifoldKpa - cold.manifoldKpa), `${speedShare} of speed, ${load} of load`).toBeLessThan(
          0.15,
        );
        expect(Math.abs(warm.exhaustK - cold.exhaustK)).toBeLessThan(0.5);
        expect(warm.manifoldKpa).toBeGreaterThan(conditions.barometerKpa * 0.9);
      }
    }
  });
});
