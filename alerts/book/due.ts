import type { Limit, Severity } from '../../schemas/finding.ts';
import { INSPECT_WITHIN_MS, INSPECT_WITHIN_WORDS } from '../limits.ts';

const HOUR_MS = 3_600_000;

/** When to have inspected, and why then. */
export type Due = { readonly dueByMs: number; readonly dueReason: string };

/**
 * When a finding wants its inspection: the time its severity allows, or earlier where the limit may be reached first.
 * The lower end of the time to the limit counts, and running hours count as if the engine never stopped: both err on
 * the early side.
 *
 * @param p.fromMs - Time of the report, ms since 1970 UTC.
 * @param p.severity - Of the finding.
 * @param p.limit - Limit with the running hours left, where the finding has one; a limit already passed is due as high.
 */
export function dueFor(p: { fromMs: number; severity: Severity; limit?: Limit | undefined }): Due {
  const severity = p.limit?.exceeded === true ? 'high' : p.severity;
  const bySeverity: Due = {
    dueByMs: p.fromMs + INSPECT_WITHIN_MS[severity],
    dueReason:
      p.limit?.exceeded === true
        ? `reported with a limit passed: inspect within ${INSPECT_WITHIN_WORDS.high} of that report`
        : `reported at severity ${severity}: inspect within ${INSPECT_WITHIN_WORDS[severity]} of that report`,
  };
  const left = p.limit?.exceeded === true ? undefined : p.limit?.hoursToLimit;
  if (left === undefined) return bySeverity;
  const hours = Math.max(0, left.lower);
  const dueByMs = p.fromMs + Math.round(hours * HOUR_MS);
  if (dueByMs >= bySeverity.dueByMs) return bySeverity;
  const percent = Math.round(left.confidence * 100);
  return {
    dueByMs,
    dueReason: `the limit may be reached after ${formatHours(hours)} running hours (lower end of the ${percent} % interval), counted as if the engine never stopped`,
  };
}

function formatHours(hours: number): string {
  return hours < 10 ? hours.toFixed(1) : hours.toFixed(0);
}
