import { assert } from '../schemas/assert.ts';
import { dayMs } from './calendar.ts';
import type { Growth } from './growth.ts';
import { MARINE_UNITS } from './marine-units.ts';
import { ROAD_UNITS } from './road-units.ts';
import type { UnitPlan } from './unit-plan.ts';

/** Seed of the demonstration as shipped. */
export const DEMO_SEED = 20_261_031;

/** All units of the scenario, road first. */
export const DEMO_UNITS: readonly UnitPlan[] = [...ROAD_UNITS, ...MARINE_UNITS];

/** What is truly wrong with a unit of the scenario. */
export type DemoTruth = {
  readonly unit: string;
  /** Id from the table of faults and symptoms. */
  readonly fault: string;
  readonly onsetMs: number;
  readonly onsetDay: number;
  readonly growth: Growth;
};

/**
 * The list of planned faults, for tests and benchmarks alone: no part of the product may read it. Units that are not in
 * it are healthy, whatever the weather and their loggers do.
 */
export function demoTruth(): DemoTruth[] {
  return DEMO_UNITS.flatMap((unit) =>
    unit.faults.map(({ faultId, growth }) => ({
      unit: unit.id,
      fault: faultId,
      onsetMs: growth.onsetMs,
      onsetDay: (growth.onsetMs - dayMs(0)) / (dayMs(1) - dayMs(0)),
      growth,
    })),
  );
}

/**
 * The plan of one unit.
 *
 * @throws AssertionError when no unit has this id: a bug of the caller.
 */
export function demoUnit(id: string): UnitPlan {
  const unit = DEMO_UNITS.find((candidate) => candidate.id === id);
  assert(unit !== undefined, `the demonstration has a unit ${id}`);
  return unit;
}
