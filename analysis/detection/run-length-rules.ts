import { assert } from '../../schemas/assert.ts';
import { normalCdf } from '../statistics/normal.ts';
import { at } from './linear-algebra.ts';
import { type RunRule, runRuleHolds } from './run-rules.ts';

const MAX_SAMPLES = 1_000_000;
const MAX_STATES = 20_000;

type Chain = { readonly next: readonly (readonly (number | undefined)[])[]; readonly zones: readonly number[] };

/**
 * Average run length of a Shewhart chart that signals when any of the given rules holds, from the first sample, with
 * independent normal values of standard deviation 1.
 *
 * @param rules - Rules that ask only on which side and beyond which line a point lies ('beyond' and 'one-side').
 * @param shift - Mean of the values, in standard deviations.
 * @throws AssertionError for a rule of another kind, or no rule.
 * @see Champ & Woodall (1987), Technometrics 29, 393-399: the chart as a Markov chain.
 */
export function runRulesRunLength(rules: readonly RunRule[], shift: number): number {
  assert(
    rules.length > 0 && rules.every((rule) => rule.kind === 'beyond' || rule.kind === 'one-side'),
    'rules are of zones and sides',
  );
  const chain = chainOf(rules);
  const edges = chain.zones;
  const masses = [...edges, Number.POSITIVE_INFINITY].map((high, i) => {
    const low = i === 0 ? Number.NEGATIVE_INFINITY : at(edges, i - 1);
    return normalCdf(high - shift) - normalCdf(low - shift);
  });
  return expectedSteps(chain, masses);
}

/** States are the histories that still matter, found by walking from the empty one; a zone that signals leads nowhere. */
function chainOf(rules: readonly RunRule[]): Chain {
  const lines = new Set([0]);
  for (const rule of rules) if (rule.kind === 'beyond') lines.add(rule.sigmas).add(-rule.sigmas);
  const zones = [...lines].sort((a, b) => a - b);
  const inside = [...zones, Number.POSITIVE_INFINITY].map((high, i) => {
    if (i === 0) return high - 1;
    return high === Number.POSITIVE_INFINITY ? at(zones, i - 1) + 1 : (at(zones, i - 1) + high) / 2;
  });
  const numbers = new Map<string, number>([['', 0]]);
  const histories: number[][] = [[]];
  const next: (number | undefined)[][] = [];
  for (let state = 0; state < histories.length; state++) {
    assert(histories.length < MAX_STATES, 'the rules look back so little that their histories can be counted');
    next.push(
      inside.map((value) => {
        const history = [...(histories[state] ?? []), value];
        if (rules.some((rule) => runRuleHolds(history, rule))) return undefined;
        const kept = whatMatters(history, rules);
        const key = kept.join();
        const known = numbers.get(key) ?? histories.length;
        if (known === histories.length) {
          numbers.set(key, known);
          histories.push(kept);
        }
        return known;
      }),
    );
  }
  return { next, zones };
}

/** The history with everything forgotten that no rule can still use, so that equal futures share a state. */
function whatMatters(history: readonly number[], rules: readonly RunRule[]): number[] {
  const kept = history.map((value, i) => {
    const age = history.length - i;
    let least = 0;
    for (const rule of rules) {
      if (rule.kind === 'beyond' && age < rule.of && Math.abs(value) > rule.sigmas)
        least = Math.max(least, rule.sigmas + 1e-6);
      const sameSideSince = history.slice(i).every((later) => Math.sign(later) === Math.sign(value));
      if (rule.kind === 'one-side' && age < rule.points && sameSideSince) least = Math.max(least, 1e-6);
    }
    return Math.sign(value) * least;
  });
  const first = kept.findIndex((value) => value !== 0);
  return first === -1 ? [] : kept.slice(first);
}

/** Sum of the survival probabilities; once they fall geometrically the rest is summed in one go. */
function expectedSteps(chain: Chain, masses: readonly number[]): number {
  let survival = new Float64Array(chain.next.length).fill(1);
  let total = 1;
  let before = 1;
  let ratio = 0;
  for (let n = 1; n < MAX_SAMPLES; n++) {
    const previous = survival;
    survival = Float64Array.from(chain.next, (targets) =>
      targets.reduce<number>(
        (sum, target, zone) => sum + (target === undefined ? 0 : at(masses, zone) * at(previous, target)),
        0,
      ),
    );
    const now = at(survival, 0);
    const settled = Math.abs(now / before - ratio) < 1e-12 * (1 - now / before);
    ratio = now / before;
    total += now;
    if (now < 1e-14 || (settled && n > 20)) return total + (now * ratio) / (1 - ratio);
    before = now;
  }
  return total;
}
