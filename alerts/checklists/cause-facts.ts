import type { StepId } from './steps.ts';

/** What the task book knows of a cause. */
export type CauseFacts = {
  /** In the trade's words, for people. */
  readonly term: string;
  /** Usual codes of ISO 14224:2016 (failure mode; mechanism of table B.2), absent for a condition that is no failure. */
  readonly usualMode?: string;
  readonly usualMechanism?: string;
  /** Steps that speak for or against it, any order. */
  readonly steps: readonly StepId[];
};

/** A line of the table of causes. */
export const cause = (
  term: string,
  codes: readonly [string, string] | undefined,
  steps: readonly StepId[],
): CauseFacts => ({
  term,
  ...(codes === undefined ? {} : { usualMode: codes[0], usualMechanism: codes[1] }),
  steps,
});
