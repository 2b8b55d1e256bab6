import type { Limit, Severity } from '../../schemas/finding.ts';
import { INSPECT_WITHIN_MS, INSPECT_WITHIN_WORDS } from '../limits.ts';

const HOUR_MS = 3_600_000;
const DAY_MS = 24 * HOUR_MS;

/** When to have inspected, and why then. */
export type Due = { readonly dueByMs: number; readonly dueReason: string };

/**
 * When a finding wants its inspection: the time its severity allows, or earlier where the limit may be reached first.
 * The lower end of the time to the limit counts, in days by the unit's own use; where that is not known, running hours
 * count as if the engine never stopped. Both err on the early side.
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
  const left = p.limit?.exceeded === true ? undefined : timeLeft(p.limit);
  if (left === undefined) return bySeverity;
  const dueByMs = p.fromMs + Math.round(left.ms);
  return dueByMs >= bySeverity.dueByMs ? bySeverity : { dueByMs, dueReason: left.reason };
}

function timeLeft(limit: Limit | undefined): { ms: number; reason: string } | undefined {
  const [days, hours] = [limit?.daysToLimit, limit?.hoursToLimit];
  if (days !== undefined) {
    const least = Math.max(0, days.lower);
    return {
      ms: least * DAY_MS,
      reason: `the limit may be reached after ${formatTime(least)} days of usual work (${interval(days.confidence)})`,
    };
  }
  if (hours === undefined) return undefined;
  const least = Math.max(0, hours.lower);
  return {
    ms: least * HOUR_MS,
    reason: `the limit may be reached after ${formatTime(least)} running hours (${interval(hours.confidence)}), counted as if the engine never stopped`,
  };
}

function interval(confidence: number): string {
  return `lower end of the ${Math.round(confidence * 100)} % interval`;
}

function formatTime(time: number): string {
  return time < 10 ? time.toFixed(1) : time.toFixed(0);
}
