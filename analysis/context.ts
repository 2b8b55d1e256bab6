import type { Unit } from '../schemas/unit.ts';
import type { AnalysisSettings } from './settings.ts';

/** What a step is told beside the samples: the unit as the fleet file has it, and the false-alarm rate asked for. */
export type Context = {
  readonly unit: Unit;
  readonly falseFindingsPer100UnitsAndWeek: number;
  /** Thresholds set otherwise for a back-test; left out by the live analysis. */
  readonly settings?: Partial<AnalysisSettings>;
};
