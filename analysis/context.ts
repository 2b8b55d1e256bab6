import type { Unit } from '../schemas/unit.ts';

/** What a step is told beside the samples: the unit as the fleet file has it, and the false-alarm rate asked for. */
export type Context = {
  readonly unit: Unit;
  readonly falseFindingsPer100UnitsAndWeek: number;
};
