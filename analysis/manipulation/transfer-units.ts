import { type Arrangement, isCapacityRatio } from './arrangement.ts';
import { bracketedRoot } from './bracketed-root.ts';
import { effectiveness, effectivenessCeiling } from './effectiveness.ts';

/**
 * Number of transfer units that gives this effectiveness: the surface a cooler acts as if it had.
 *
 * @param p.arrangement - How the streams run.
 * @param p.effectiveness - Fraction, from 0 to below the arrangement's ceiling.
 * @param p.capacityRatio - `Cmin / Cmax`, 0 to 1.
 * @returns `undefined` at or above the ceiling (`effectivenessCeiling`): no surface is large enough, so a reading or the
 *   arrangement is wrong; also for arguments out of range and past 700 transfer units in crossflow.
 */
export function transferUnits(p: {
  arrangement: Arrangement;
  effectiveness: number;
  capacityRatio: number;
}): number | undefined {
  const { arrangement, effectiveness: e, capacityRatio: c } = p;
  const ceiling = effectivenessCeiling(p);
  if (!isCapacityRatio(c) || ceiling === undefined || !(e >= 0 && e < ceiling)) return undefined;
  if (c === 0) return -Math.log1p(-e);
  switch (arrangement.kind) {
    case 'counterflow':
      return c === 1 ? e / (1 - e) : Math.log1p((e * (1 - c)) / (1 - e)) / (1 - c);
    case 'parallelFlow':
      return -Math.log1p(-e * (1 + c)) / (1 + c);
    case 'crossflowCminMixed':
      return -Math.log1p(c * Math.log1p(-e)) / c;
    case 'crossflowCmaxMixed':
      return -Math.log1p(Math.log1p(-c * e) / c);
    case 'shells':
      return arrangement.shellCount * oneShell(eachShell(e, arrangement.shellCount, c), c);
    case 'crossflowBothUnmixed':
    case 'crossflowBothUnmixedApproximate':
      return searched(arrangement, e, c);
    default:
      return arrangement satisfies never;
  }
}

function searched(arrangement: Arrangement, target: number, c: number): number | undefined {
  if (target === 0) return 0;
  const above = (ntu: number) => (effectiveness({ arrangement, ntu, capacityRatio: c }) ?? Number.NaN) - target;
  // No arrangement beats 1 - exp(-NTU), so the answer lies above this; widening doubles from there.
  const low = -Math.log1p(-target) * 0.999;
  for (let high = Math.max(low * 2, 1e-6); high <= MOST_NTU; high *= 2) {
    if (above(high) >= 0) return bracketedRoot({ of: above, low, high });
  }
  return above(MOST_NTU) >= 0 ? bracketedRoot({ of: above, low, high: MOST_NTU }) : undefined;
}

function oneShell(e: number, c: number): number {
  if (e === 0) return 0;
  const root = Math.hypot(1, c);
  const x = (2 / e - (1 + c)) / root;
  return Math.log1p(2 / (x - 1)) / root;
}

function eachShell(e: number, shellCount: number, c: number): number {
  if (c === 1) return e / (shellCount - e * (shellCount - 1));
  const grown = Math.expm1(Math.log1p((e * (1 - c)) / (1 - e)) / shellCount);
  return grown / (grown + (1 - c));
}

/** The series for crossflow holds up to here. */
const MOST_NTU = 700;
