import type { Finding } from '../schemas/finding.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import type { Verdict } from '../schemas/verdict.ts';
import { applyVerdict } from './apply-verdict.ts';
import type { Context } from './context.ts';
import { cutBlock } from './cut-block.ts';
import { initialState, type UnitState } from './state.ts';
import { step } from './step.ts';

/** The analysis as it stood when a finding was reported. */
export type Replayed = { readonly state: UnitState; readonly finding: Finding };

const HOUR_MS = 3_600_000;
/** A report is written when the next point comes, which may be the next shift; until then it is looked for closely. */
const SEARCH_MS = 72 * HOUR_MS;

/**
 * Runs a unit's samples again up to a report of a finding, for the state that the report was made from. Since a step
 * is pure, the same samples give the same state; a program or a fleet file that has changed since may not.
 *
 * @param p.context - As the live analysis has it.
 * @param p.verdicts - Of this unit; each is taken in at its time.
 * @param p.finding - The report to stop at, known by its id and `updatedAtMs`.
 */
export function createReplay(p: {
  readonly context: Context;
  readonly verdicts: readonly Verdict[];
  readonly finding: Pick<Finding, 'id' | 'updatedAtMs'>;
}): {
  /** Takes the next block; true when the report has come and no more are needed. */
  take(block: SampleBlock): boolean;
  /** `undefined` when the report did not come. */
  result(): Replayed | undefined;
} {
  const waiting = [...p.verdicts].sort((a, b) => a.atMs - b.atMs);
  const { id, updatedAtMs } = p.finding;
  let state = initialState();
  let found: Replayed | undefined;
  return {
    take(block) {
      const [first = 0] = block.t;
      const near = (block.t.at(-1) ?? 0) >= updatedAtMs && first <= updatedAtMs + SEARCH_MS;
      const spanMs = near ? HOUR_MS / 4 : Number.POSITIVE_INFINITY;
      for (const part of cutBlock(block, { spanMs, atMs: waiting.map(({ atMs }) => atMs) })) {
        while (waiting[0] !== undefined && waiting[0].atMs < (part.t[0] ?? 0))
          state = applyVerdict(state, waiting.shift() as Verdict, p.context);
        const result = step(state, part, p.context);
        state = result.state;
        const finding = result.findings.find((one) => one.id === id && one.updatedAtMs === updatedAtMs);
        if (finding === undefined) continue;
        found = { state, finding };
        return true;
      }
      return false;
    },
    result: () => found,
  };
}
