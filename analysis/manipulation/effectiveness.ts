import { type Arrangement, isCapacityRatio } from './arrangement.ts';
import { crossflowBothUnmixedApproximation, crossflowBothUnmixedEffectiveness } from './crossflow.ts';

/**
 * Effectiveness of a heat exchanger: heat it moves over the most that any could, `Cmin (Thot,in - Tcold,in)`.
 *
 * @param p.arrangement - How the streams run.
 * @param p.ntu - Number of transfer units `UA / Cmin`, not below zero; for shells in series the total over all shells.
 * @param p.capacityRatio - `Cmin / Cmax`, 0 to 1. At 0 every arrangement gives `1 - exp(-NTU)`.
 * @returns Fraction; `undefined` outside these ranges.
 * @see Kays and London, Compact Heat Exchangers; Shah and Sekulic (2003), table 3.6.
 */
export function effectiveness(p: { arrangement: Arrangement; ntu: number; capacityRatio: number }): number | undefined {
  const { arrangement, ntu, capacityRatio: c } = p;
  if (!isCapacityRatio(c) || !(ntu >= 0)) return undefined;
  if (c === 0) return -Math.expm1(-ntu);
  switch (arrangement.kind) {
    case 'counterflow':
      return counterflow(ntu, c);
    case 'parallelFlow':
      return -Math.expm1(-ntu * (1 + c)) / (1 + c);
    case 'crossflowBothUnmixed':
      return crossflowBothUnmixedEffectiveness(p);
    case 'crossflowBothUnmixedApproximate':
      return crossflowBothUnmixedApproximation(p);
    case 'crossflowCminMixed':
      return -Math.expm1(Math.expm1(-c * ntu) / c);
    case 'crossflowCmaxMixed':
      return -Math.expm1(c * Math.expm1(-ntu)) / c;
    case 'shells':
      return inSeries(oneShell(ntu / arrangement.shellCount, c), arrangement.shellCount, c);
    default:
      return arrangement satisfies never;
  }
}

/**
 * The effectiveness that an arrangement approaches with boundless surface. A measured effectiveness at or above it means
 * that a reading or the assumed arrangement is wrong.
 *
 * @param p.capacityRatio - `Cmin / Cmax`, 0 to 1.
 * @returns Fraction, 1 where the arrangement has no ceiling below it; `undefined` outside that range.
 */
export function effectivenessCeiling(p: { arrangement: Arrangement; capacityRatio: number }): number | undefined {
  const { arrangement, capacityRatio: c } = p;
  if (!isCapacityRatio(c)) return undefined;
  if (c === 0) return 1;
  switch (arrangement.kind) {
    case 'parallelFlow':
      return 1 / (1 + c);
    case 'crossflowCminMixed':
      return -Math.expm1(-1 / c);
    case 'crossflowCmaxMixed':
      return -Math.expm1(-c) / c;
    case 'shells':
      return inSeries(2 / (1 + c + Math.hypot(1, c)), arrangement.shellCount, c);
    default:
      return 1;
  }
}

// In `1 - c` and expm1 the singularity at c = 1 is removed but for c = 1 itself, and small differences keep their digits.
function counterflow(ntu: number, c: number): number {
  if (c === 1) return Number.isFinite(ntu) ? ntu / (1 + ntu) : 1;
  const grown = -Math.expm1(-ntu * (1 - c));
  return grown / (1 - c + c * grown);
}

function oneShell(ntu: number, c: number): number {
  const root = Math.hypot(1, c);
  const grown = -Math.expm1(-ntu * root);
  if (grown === 0) return 0;
  return 2 / (1 + c + (root * (2 - grown)) / grown);
}

function inSeries(each: number, shellCount: number, c: number): number {
  if (c === 1) return (shellCount * each) / (1 + (shellCount - 1) * each);
  const grown = Math.expm1(shellCount * Math.log1p((each * (1 - c)) / (1 - each)));
  return grown / (grown + (1 - c));
}
