import { type Cause, FINDING_KINDS, SEVERITIES } from '../../schemas/finding.ts';
import { CHECK_STAGES, type Check, type Task, type TaskFinding } from '../../schemas/task.ts';
import type { Unit } from '../../schemas/unit.ts';
import { generalCautions } from '../checklists/cautions.ts';
import { composeChecks } from '../checklists/compose-checks.ts';

/**
 * The task with title, causes, steps and cautions that fit its findings as they stand.
 *
 * Causes are those of the finding that weighs most: uncleared first, then worst, then newest, since the analysis ranks
 * causes by the whole pattern each time. Steps of the other findings are merged in behind them. A step that has a
 * measured value stays, whatever is advised now.
 */
export function refreshAdvice(task: Task, unit: Unit): Task {
  const ranked = rankFindings(task.findings);
  const present = ranked.filter(({ cleared }) => !cleared);
  const named = present.length > 0 ? present : ranked;
  const kinds = [...new Set(named.map(({ kind }) => FINDING_KINDS[kind]))];
  return {
    ...task,
    title: kinds.join(', '),
    causes: rankCauses(ranked[0]?.causes ?? []),
    causeGroups: ranked[0]?.causeGroups ?? [],
    separatingChecks: unique(ranked.flatMap(({ separatingChecks }) => separatingChecks)),
    troubleCodes: unique(ranked.flatMap(({ troubleCodes }) => troubleCodes)),
    cautions: generalCautions(unit),
    checks: mergeChecks({ task, ranked, unit }),
  };
}

/** Findings by weight: those still present first, then the worst, then the newest. */
export function rankFindings(findings: readonly TaskFinding[]): TaskFinding[] {
  return [...findings].sort(
    (a, b) =>
      Number(a.cleared) - Number(b.cleared) ||
      SEVERITIES.indexOf(b.severity) - SEVERITIES.indexOf(a.severity) ||
      b.updatedAtMs - a.updatedAtMs ||
      (a.id < b.id ? -1 : 1),
  );
}

function rankCauses(causes: readonly Cause[]): Cause[] {
  return [...causes].sort((a, b) => b.probability - a.probability || (a.cause < b.cause ? -1 : 1));
}

function unique(texts: readonly string[]): string[] {
  return [...new Set(texts)];
}

function mergeChecks(p: { task: Task; ranked: readonly TaskFinding[]; unit: Unit }): Check[] {
  const merged = new Map<string, Check>();
  for (const { causes, subject } of p.ranked) {
    for (const check of composeChecks({ causes, unit: p.unit, subject })) {
      if (!merged.has(check.id)) merged.set(check.id, check);
    }
  }
  for (const check of p.task.checks) {
    if (!merged.has(check.id) && p.task.measurements.some((value) => value.check === check.id))
      merged.set(check.id, check);
  }
  // A stable sort: within a stage the order of the weightiest finding stays.
  return [...merged.values()].sort((a, b) => CHECK_STAGES.indexOf(a.stage) - CHECK_STAGES.indexOf(b.stage));
}
