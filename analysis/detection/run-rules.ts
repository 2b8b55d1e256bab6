import { at } from './linear-algebra.ts';

/**
 * A pattern on a control chart that chance hardly makes. Distances are standard deviations from the centre; beyond a
 * line means strictly outside it, and a point on the centre line belongs to no side.
 */
export type RunRule =
  /** `points` of the last `of` beyond `sigmas` on one side, the last one among them. A window cut short by the start counts. */
  | { readonly kind: 'beyond'; readonly points: number; readonly of: number; readonly sigmas: number }
  /** `points` in a row on one side of the centre. */
  | { readonly kind: 'one-side'; readonly points: number }
  /** `points` in a row, each above (or each below) the one before. */
  | { readonly kind: 'monotone'; readonly points: number }
  /** `points` in a row going up and down in turn. */
  | { readonly kind: 'alternating'; readonly points: number }
  /** `points` in a row nearer to the centre than `sigmas`: the scatter has shrunk, or sigma is too wide. */
  | { readonly kind: 'within'; readonly points: number; readonly sigmas: number }
  /** `points` in a row further than `sigmas`, both sides used: two levels are mixed. */
  | { readonly kind: 'outside'; readonly points: number; readonly sigmas: number };

/** The eight tests of Nelson (1984), Journal of Quality Technology 16, 237-239; also in ISO 7870-2:2023. */
export const NELSON_TESTS: Readonly<Record<string, RunRule>> = {
  1: { kind: 'beyond', points: 1, of: 1, sigmas: 3 },
  2: { kind: 'one-side', points: 9 },
  3: { kind: 'monotone', points: 6 },
  4: { kind: 'alternating', points: 14 },
  5: { kind: 'beyond', points: 2, of: 3, sigmas: 2 },
  6: { kind: 'beyond', points: 4, of: 5, sigmas: 1 },
  7: { kind: 'within', points: 15, sigmas: 1 },
  8: { kind: 'outside', points: 8, sigmas: 1 },
};

/** The four zone rules of the Statistical Quality Control Handbook (1956), as in NIST/SEMATECH e-Handbook 6.3.2. */
export const ZONE_RULES: Readonly<Record<string, RunRule>> = {
  1: { kind: 'beyond', points: 1, of: 1, sigmas: 3 },
  2: { kind: 'beyond', points: 2, of: 3, sigmas: 2 },
  3: { kind: 'beyond', points: 4, of: 5, sigmas: 1 },
  4: { kind: 'one-side', points: 8 },
};

/**
 * Every position, from 0, at which a rule holds.
 *
 * @param z - Values less centre, by sigma; in order, without gaps.
 */
export function runRuleHits(z: readonly number[], rule: RunRule): number[] {
  const hits: number[] = [];
  for (let i = 0; i < z.length; i++) if (holdsAt(z, i, rule)) hits.push(i);
  return hits;
}

/** Whether a rule holds at the last value: what an online chart asks. Only the last `points` (or `of`) values matter. */
export function runRuleHolds(z: readonly number[], rule: RunRule): boolean {
  return z.length > 0 && holdsAt(z, z.length - 1, rule);
}

function holdsAt(z: readonly number[], i: number, rule: RunRule): boolean {
  if (rule.kind === 'beyond') {
    const window = z.slice(Math.max(0, i - rule.of + 1), i + 1);
    const side = Math.sign(at(z, i));
    return side * at(z, i) > rule.sigmas && window.filter((x) => side * x > rule.sigmas).length >= rule.points;
  }
  if (i + 1 < rule.points) return false;
  const window = z.slice(i - rule.points + 1, i + 1);
  const steps = window.slice(1).map((x, j) => Math.sign(x - at(window, j)));
  switch (rule.kind) {
    case 'one-side':
      return window.every((x) => x > 0) || window.every((x) => x < 0);
    case 'monotone':
      return steps.every((step) => step > 0) || steps.every((step) => step < 0);
    case 'alternating':
      return steps.every((step, j) => step !== 0 && (j === 0 || step === -at(steps, j - 1)));
    case 'within':
      return window.every((x) => Math.abs(x) < rule.sigmas);
    case 'outside':
      return window.every((x) => Math.abs(x) > rule.sigmas) && window.some((x) => x > 0) && window.some((x) => x < 0);
    default:
      return rule satisfies never;
  }
}
