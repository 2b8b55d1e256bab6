import type { Verdict } from '../schemas/verdict.ts';

/** A fault that is known to have been there. */
export type KnownFault = {
  readonly unit: string;
  /** Id of the cause. */
  readonly fault: string;
  readonly fromMs: number;
  /** Until when it was there; the time of the repair, or the end of the data. */
  readonly toMs: number;
  /** Whether somebody stated the onset, or it is the estimate of the finding that led to the repair. */
  readonly onset: 'stated' | 'estimated';
};

/** A suspicion that a fitter has looked into and found nothing. */
export type Refuted = { readonly unit: string; readonly fromMs: number; readonly toMs: number };

/** What alarms are held against. */
export type Truth = {
  readonly faults: readonly KnownFault[];
  readonly refuted: readonly Refuted[];
  /** True when every fault of the period is in the list: then any other alarm is false. */
  readonly complete: boolean;
};

/** How far back a fault is taken to have begun when nothing is known of its onset. Common practice, no source. */
const LOOK_BACK_MS = 30 * 24 * 3_600_000;

/**
 * What fitters found, as truth for a back-test: a confirmed cause is a fault from the onset of the finding that led to
 * it until its repair; 'nothing found' refutes the alarms of that time. An alarm that nobody has looked into stays
 * unjudged, since neither is known of it.
 *
 * @param verdicts - Of all units, in any order.
 * @param onsetOf - Onset of the earliest finding of the verdict's task, where it is known.
 */
export function truthFromVerdicts(
  verdicts: readonly Verdict[],
  onsetOf: (verdict: Verdict) => number | undefined,
): Truth {
  const faults: KnownFault[] = [];
  const refuted: Refuted[] = [];
  for (const verdict of verdicts) {
    const span = {
      unit: verdict.unit,
      fromMs: Math.min(onsetOf(verdict) ?? verdict.atMs - LOOK_BACK_MS, verdict.atMs),
      toMs: verdict.atMs,
    };
    if (verdict.found === 'none_found') refuted.push(span);
    else faults.push({ ...span, fault: verdict.found, onset: 'estimated' });
  }
  return { faults, refuted, complete: false };
}
