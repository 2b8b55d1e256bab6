import { blowerScavengedSurplus } from './blower-scavenged.ts';
import type { FaultEffects } from './fault-effects.ts';
import type { Plant } from './gas-path.ts';
import type { Conditions, GasState } from './gas-state.ts';
import { singleStageSurplus } from './single-stage.ts';
import { twoStageSurplus } from './two-stage.ts';

/** Largest error of the solved pressure, kPa: well below any sensor's resolution. */
const TOLERANCE_KPA = 0.02;
/** Secant steps before halving takes over. */
const SECANT_MAX = 16;
/** A slope over a smaller step than this would be rounding and temperature drift. */
const SLOPE_STEP_KPA = 0.3;
const FLATTEST_SLOPE = -1e-4;

type Surplus = (plant: Plant, c: Conditions, f: FaultEffects, s: GasState, unknownKpa: number) => number;

/**
 * Finds the steady running point of the gas path: the pressure at which turbine and compressor power agree. Starts at
 * the last solution and its slope, so a sample that resembles the one before costs two or three evaluations. Secant
 * steps cope with the kinks that gate and vanes put into the curve; where they do not settle, halving does.
 *
 * @param s - Filled with the running point.
 * @returns How many evaluations it took; more than 16 when it came to halving.
 */
export function solveGasPath(plant: Plant, c: Conditions, f: FaultEffects, s: GasState): number {
  const { charging } = plant.spec;
  const surplus =
    charging === 'single_stage'
      ? singleStageSurplus
      : charging === 'two_stage'
        ? twoStageSurplus
        : blowerScavengedSurplus;
  const low = c.barometerKpa * 0.8;
  const high = c.barometerKpa * 7;
  let x = Math.min(Math.max(s.unknownKpa, low), high);
  let slope = s.slope;
  let value = surplus(plant, c, f, s, x);
  // Where the curve was last seen above and below nought, once it was.
  let above = Number.NaN;
  let below = Number.NaN;
  for (let pass = 1; pass <= SECANT_MAX; pass += 1) {
    const reach = 0.3 * x;
    const step = Math.min(Math.max(-value / slope, -reach), reach);
    // Charge temperature and flow of one evaluation come from the one before, so the first is never trusted alone.
    if (pass > 1 && Math.abs(step) < TOLERANCE_KPA) {
      s.unknownKpa = x;
      s.slope = slope;
      return pass;
    }
    if (value > 0) above = x;
    else below = x;
    let next = Math.min(Math.max(x + step, low), high);
    // Secants that leap to and fro over a kink are cut short in the middle of what they leap over.
    if (pass > 5 && !(next > above && next < below) && below - above > 1) next = (above + below) / 2;
    const nextValue = surplus(plant, c, f, s, next);
    const nextSlope = (nextValue - value) / (next - x);
    if (Math.abs(next - x) > SLOPE_STEP_KPA && nextSlope < FLATTEST_SLOPE) slope = nextSlope;
    x = next;
    value = nextValue;
  }
  return SECANT_MAX + halve({ surplus, plant, c, f, s, low, high });
}

/** Halves the span of possible pressures until it is narrower than the tolerance; slow and sure. */
function halve(p: {
  surplus: Surplus;
  plant: Plant;
  c: Conditions;
  f: FaultEffects;
  s: GasState;
  low: number;
  high: number;
}): number {
  const { surplus, plant, c, f, s } = p;
  let { low, high } = p;
  let evaluations = 0;
  while (high - low > TOLERANCE_KPA) {
    const middle = (low + high) / 2;
    // Evaluated until temperatures of the point itself have settled, so that its sign can be trusted.
    for (let settle = 0; settle < 3; settle += 1) surplus(plant, c, f, s, middle);
    if (surplus(plant, c, f, s, middle) > 0) low = middle;
    else high = middle;
    evaluations += 4;
  }
  s.unknownKpa = (low + high) / 2;
  return evaluations;
}
