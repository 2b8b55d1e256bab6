import { type Finding, SEVERITIES } from '../../schemas/finding.ts';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import type { Condition } from '../../web/marks.ts';
import { STALE_AFTER_MS } from '../limits.ts';

/**
 * How a unit stands: the worst severity of its open findings; without one, what its newest operating point says.
 *
 * @param p.findings - Newest versions of the unit's findings, cleared ones among them.
 * @param p.latest - Its newest operating point, where it has one.
 */
export function unitCondition(p: {
  findings: readonly Finding[];
  latest: HistoryPoint | undefined;
  nowMs: number;
}): Condition {
  const open = p.findings.filter(({ state }) => state === 'open').map(({ severity }) => SEVERITIES.indexOf(severity));
  const worst = SEVERITIES[Math.max(-1, ...open)];
  if (worst !== undefined) return worst;
  if (p.latest === undefined) return 'no_data';
  if (p.nowMs - p.latest.point.toMs > STALE_AFTER_MS) return 'stale';
  const judgements = Object.values(p.latest.channels).map((reading) => reading?.judgement);
  if (judgements.includes('judged')) return 'normal';
  return judgements.includes('outside') && !judgements.includes('learning') ? 'outside' : 'learning';
}
