import type { Unit } from '../../schemas/unit.ts';

/** An invented truck engine for tests of pure parts: what a test is about is set by `change`. */
export function benchUnit(change: Partial<Unit> = {}): Unit {
  return {
    id: 'bench-1',
    name: 'Bench engine',
    kind: 'road',
    duty: 'long_haul',
    place: 'bench',
    engine: {
      ratedPowerKw: 300,
      ratedSpeedRpm: 2000,
      displacementL: 12,
      strokes: 4,
      charging: 'single_stage',
      boostControl: 'wastegate',
      cooler: 'air_to_air',
    },
    sensors: { engineSpeed: {}, fuelRate: {}, boostPressure: { reference: 'gauge' } },
    limits: { source: 'test' },
    ...change,
  };
}
