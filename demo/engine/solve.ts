import { blowerScavengedSurplus } from './blower-scavenged.ts';
import type { FaultEffects } from './fault-effects.ts';
import type { Plant } from './gas-path.ts';
import type { Conditions, GasState } from './gas-state.ts';
import { singleStageSurplus } from './single-stage.ts';
import { twoStageSurplus } from './two-stage.ts';

/** Largest error of the solved pressure, kPa: well below any sensor's resolution. */
const TOLERANCE_KPA = 0.02;
const PASS_MAX = 40;

/**
 * Finds the steady running point of the gas path: the pressure at which turbine and compressor power agree. Starts at
 * the last solution and its slope, so a sample that resembles the one before costs a few evaluations; a bracket
 * kept beside the secant steps makes it fail-safe where the gate or vanes put a kink in the curve.
 *
 * @param s - Filled with the running point.
 * @returns How many evaluations it took.
 */
export function solveGasPath(plant: Plant, c: Conditions, f: FaultEffects, s: GasState): number {
  const { charging } = plant.spec;
  const surplus =
    charging === 'single_stage'
      ? singleStageSurplus
      : charging === 'two_stage'
        ? twoStageSurplus
        : blowerScavengedSurplus;
  let low = c.barometerKpa * 0.8;
  let high = c.barometerKpa * 7;
  let x = Math.min(Math.max(s.unknownKpa, low), high);
  let slope = s.slope;
  let value = surplus(plant, c, f, s, x);
  for (let pass = 1; pass < PASS_MAX; pass += 1) {
    if (value > 0) low = x;
    else high = x;
    let next = x - value / slope;
    // Charge temperature and flow of one evaluation come from the one before, so the first is never trusted alone.
    if (pass > 1 && Math.abs(next - x) < TOLERANCE_KPA) {
      s.unknownKpa = x;
      s.slope = slope;
      return pass;
    }
    if (!(next > low && next < high) || pass > 8) next = (low + high) / 2;
    if (high - low < TOLERANCE_KPA) break;
    const nextValue = surplus(plant, c, f, s, next);
    // A slope over a tiny step is all rounding and temperature drift: keep the old one.
    const nextSlope = (nextValue - value) / (next - x);
    if (Math.abs(next - x) > 0.5 && nextSlope < -1e-4) slope = nextSlope;
    x = next;
    value = nextValue;
  }
  s.unknownKpa = x;
  return PASS_MAX;
}
