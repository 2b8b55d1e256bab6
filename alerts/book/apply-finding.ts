import { assert } from '../../schemas/assert.ts';
import { FINDING_KINDS, type Finding } from '../../schemas/finding.ts';
import type { Task, TaskFinding } from '../../schemas/task.ts';
import type { Unit } from '../../schemas/unit.ts';
import { type Book, isActive, isDismantled, withEvent, withTask, worse } from './book.ts';
import { dueFor } from './due.ts';
import { refreshAdvice } from './refresh-advice.ts';
import { taskId } from './task-id.ts';

/** Whose name stands in the history for what the pipeline itself does. */
export const ANALYSIS = 'analysis';

/**
 * The book after one version of a finding.
 *
 * A finding opens one task, once. Its later versions merge into that task; so do other findings of the unit whose times
 * overlap or that are of a kind it has, while the task is at work and nothing is taken apart yet. Severity grows and the due time moves forward,
 * neither goes back while the task is at work. After closing: all its findings cleared by data from after the repair
 * verify it; a report of the same kind for data from after the repair reopens it. A closing with nothing found is
 * reopened by the same finding only when that has grown worse, or by a new finding of the kind.
 *
 * @param book - Of the finding's unit.
 * @param finding - Any version; one already seen, or older than the one seen, changes nothing.
 * @param unit - The finding's unit.
 */
export function applyFinding(book: Book, finding: Finding, unit: Unit): Book {
  assert(finding.unit === unit.id, 'a finding is applied to the book of its own unit');
  const own = book.tasks.find((task) => task.findings.some(({ id }) => id === finding.id));
  if (own !== undefined) {
    const seen = own.findings.find(({ id }) => id === finding.id);
    if (seen !== undefined && !isNews(seen, finding)) return book;
    return withTask(book, absorb({ task: own, finding, unit, fresh: false }));
  }
  // Newest first: a part-dismantled task may stand beside a later one.
  const tasks = [...book.tasks].reverse();
  const joined =
    tasks.find(
      (task) => isActive(task) && !isDismantled(task) && (overlaps(task, finding) || hasKind(task, finding)),
    ) ?? tasks.find((task) => task.state === 'closed' && hasKind(task, finding));
  if (joined !== undefined) return withTask(book, absorb({ task: joined, finding, unit, fresh: true }));
  // Gone before anybody could look: there is nothing to inspect.
  if (finding.state === 'cleared') return book;
  return withTask(book, openTask({ book, finding, unit }));
}

function isNews(seen: TaskFinding, finding: Finding): boolean {
  if (finding.updatedAtMs !== seen.updatedAtMs) return finding.updatedAtMs > seen.updatedAtMs;
  return (finding.state === 'cleared') !== seen.cleared || finding.severity !== seen.severity;
}

function hasKind(task: Task, finding: Finding): boolean {
  return task.findings.some(({ kind }) => kind === finding.kind);
}

function overlaps(task: Task, finding: Finding): boolean {
  const sinceMs = Math.min(...task.findings.map((seen) => seen.sinceMs));
  const untilMs = task.findings.every((seen) => seen.cleared)
    ? Math.max(...task.findings.map((seen) => seen.updatedAtMs))
    : Number.POSITIVE_INFINITY;
  const endsMs = finding.state === 'cleared' ? finding.updatedAtMs : Number.POSITIVE_INFINITY;
  return finding.sinceMs <= untilMs && endsMs >= sinceMs;
}

function remember(finding: Finding): TaskFinding {
  return {
    id: finding.id,
    kind: finding.kind,
    severity: finding.severity,
    sinceMs: finding.sinceMs,
    atMs: finding.atMs,
    updatedAtMs: finding.updatedAtMs,
    cleared: finding.state === 'cleared',
    subject: finding.subject,
    sentence: finding.evidence.sentence,
    causes: finding.causes,
    causeGroups: finding.causeGroups,
    separatingChecks: finding.separatingChecks,
    troubleCodes: finding.troubleCodes,
    ...(finding.limit === undefined ? {} : { limit: finding.limit }),
  };
}

function openTask(p: { book: Book; finding: Finding; unit: Unit }): Task {
  const { finding } = p;
  const task: Task = {
    version: 1,
    id: taskId({ unit: p.unit.id, finding: finding.id, taken: p.book.tasks.map(({ id }) => id) }),
    unit: p.unit.id,
    state: 'open',
    title: '',
    severity: finding.severity,
    openedAtMs: finding.updatedAtMs,
    updatedAtMs: finding.updatedAtMs,
    ...dueFor({ fromMs: finding.updatedAtMs, severity: finding.severity, limit: finding.limit }),
    findings: [remember(finding)],
    reports: 1,
    causes: [],
    causeGroups: [],
    separatingChecks: [],
    troubleCodes: [],
    cautions: [],
    checks: [],
    measurements: [],
    earlierVerdicts: [],
    history: [
      {
        atMs: finding.updatedAtMs,
        who: ANALYSIS,
        what: `opened: ${FINDING_KINDS[finding.kind]}`,
        why: finding.evidence.sentence,
      },
    ],
  };
  return refreshAdvice(task, p.unit);
}

function absorb(p: { task: Task; finding: Finding; unit: Unit; fresh: boolean }): Task {
  const { finding, fresh } = p;
  const before = p.task.findings.find(({ id }) => id === finding.id);
  let task: Task = {
    ...p.task,
    findings: fresh
      ? [...p.task.findings, remember(finding)]
      : p.task.findings.map((seen) => (seen.id === finding.id ? remember(finding) : seen)),
    reports: p.task.reports + 1,
    updatedAtMs: Math.max(p.task.updatedAtMs, finding.updatedAtMs),
  };
  const note = (what: string, why = finding.evidence.sentence) => {
    task = withEvent(task, { atMs: finding.updatedAtMs, who: ANALYSIS, what, why });
  };
  const kind = FINDING_KINDS[finding.kind];
  if (fresh) note(isActive(p.task) ? `joined: ${kind}` : `reported again: ${kind}`);
  else if (finding.state === 'cleared' && before?.cleared === false) note(`cleared: ${kind}`);
  else if (finding.state === 'open' && before?.cleared === true) note(`back again: ${kind}`);

  if (isActive(p.task)) return refreshAdvice(grow(task, finding), p.unit);
  return afterClosing({ task, finding, unit: p.unit, fresh });
}

/** Severity up, due time forward; never back. */
function grow(task: Task, finding: Finding): Task {
  if (finding.state === 'cleared') return task;
  let grown = task;
  const severity = worse(task.severity, finding.severity);
  if (severity !== task.severity) {
    grown = withEvent(
      { ...grown, severity },
      {
        atMs: finding.updatedAtMs,
        who: ANALYSIS,
        what: `severity ${task.severity} → ${severity}`,
        why: finding.evidence.sentence,
      },
    );
  }
  const due = dueFor({ fromMs: finding.updatedAtMs, severity: finding.severity, limit: finding.limit });
  if (due.dueByMs < task.dueByMs) {
    grown = withEvent(
      { ...grown, ...due },
      { atMs: finding.updatedAtMs, who: ANALYSIS, what: 'due earlier', why: due.dueReason },
    );
  }
  return grown;
}

function afterClosing(p: { task: Task; finding: Finding; unit: Unit; fresh: boolean }): Task {
  const { task, finding, fresh } = p;
  const verdict = task.verdict;
  assert(verdict !== undefined, 'a closed task has the verdict it was closed with');
  const at = { atMs: finding.updatedAtMs, who: ANALYSIS };
  if (finding.state === 'cleared') {
    const gone = task.findings.every(({ cleared }) => cleared) && finding.updatedAtMs >= verdict.atMs;
    if (task.state !== 'closed' || !gone) return task;
    return withEvent(
      { ...task, state: 'verified' },
      { ...at, what: 'verified', why: 'data after the work no longer show the departure' },
    );
  }
  const afterRepair = (fresh ? finding.atMs : finding.updatedAtMs) > verdict.atMs;
  const nothingFound = verdict.found === 'none_found' && !fresh;
  if (!afterRepair || (nothingFound && worse(task.severity, finding.severity) === task.severity)) return task;
  const { verdict: _closed, takenBy: _left, ...rest } = task;
  const due = dueFor({ fromMs: finding.updatedAtMs, severity: finding.severity, limit: finding.limit });
  const reopened: Task = {
    ...rest,
    state: 'reopened',
    severity: finding.severity,
    ...due,
    earlierVerdicts: [...task.earlierVerdicts, verdict],
  };
  return refreshAdvice(
    withEvent(reopened, {
      ...at,
      what: 'reopened',
      why: `${FINDING_KINDS[finding.kind]} shows in data from after the work`,
    }),
    p.unit,
  );
}
