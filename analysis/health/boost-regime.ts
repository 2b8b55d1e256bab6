import type { Unit } from '../../schemas/unit.ts';

/** Whether boost is held at a target by a controller with feedback: then its actuator hides what goes wrong until its stop. */
export function isBoostRegulated(unit: Unit): boolean {
  const { boostControl } = unit.engine;
  return boostControl === 'electronic' || boostControl === 'variable_geometry';
}
