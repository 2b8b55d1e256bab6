import { addFault, type FaultEffects, HEALTHY } from './engine/fault-effects.ts';
import type { ModelSignal } from './engine/outputs.ts';
import { type Growth, growthAt } from './growth.ts';

/** A sensor that lies: an offset that grows, or a value that no longer moves. Offset in the canonical unit. */
export type SensorFault = {
  readonly key: ModelSignal;
  readonly offset?: number;
  readonly stuckAt?: number;
};

/** One fault of one unit: what it is called in the fault table, how it grows, and its full size. */
export type FaultPlan = {
  /** Id of the fault in the reference table of faults and symptoms. */
  readonly faultId: string;
  readonly growth: Growth;
  /** Multiplies the full size; 1 when left out. */
  readonly severity?: number;
  readonly effects?: Partial<FaultEffects>;
  readonly sensor?: SensorFault;
};

/** Sets `effects` to the engine's condition at a time: healthy, plus every planned fault at its size of then. */
export function applyFaults(effects: FaultEffects, plans: readonly FaultPlan[], timeMs: number): void {
  Object.assign(effects, HEALTHY);
  for (const plan of plans) {
    if (plan.effects !== undefined) addFault(effects, plan.effects, faultSeverity(plan, timeMs));
  }
}

/** Size of a planned fault at a time, 0 before its onset. */
export function faultSeverity(plan: FaultPlan, timeMs: number): number {
  return growthAt(plan.growth, timeMs) * (plan.severity ?? 1);
}
