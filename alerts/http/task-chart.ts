import { CHANNEL_KEYS } from '../../schemas/channel.ts';
import { isSignalKey } from '../../schemas/signals.ts';
import type { Task, TaskFinding } from '../../schemas/task.ts';
import type { HistoryPort, SeriesOf } from '../../storage/history/port.ts';
import type { ChartData, ChartMark } from '../../web/chart.ts';
import { capital, describeSubject, formatNumber, unitSymbol } from '../../web/format.ts';
import { CHART_BEFORE_MAX_MS, CHART_BEFORE_MIN_MS, CHART_COLUMNS, CHART_PARTS } from '../limits.ts';
import { chartPoints } from './chart-points.ts';

/** What series a subject is: a channel with its expectation, a signal without, or `undefined` when it is neither. */
export function seriesOf(subject: string): SeriesOf | undefined {
  if ((CHANNEL_KEYS as readonly string[]).includes(subject)) return { kind: 'channel', name: subject };
  return isSignalKey(subject) ? { kind: 'signal', name: subject } : undefined;
}

/**
 * The chart of what departs in a finding of a task: from well before the onset to the newest data.
 *
 * @returns `undefined` when the subject is no series or the history has nothing of it.
 */
export async function taskChart(p: {
  history: HistoryPort;
  task: Task;
  finding: TaskFinding;
  zone: string;
}): Promise<ChartData | undefined> {
  const { finding, task } = p;
  const of = seriesOf(finding.subject);
  const extent = await p.history.extent({ unit: task.unit });
  if (of === undefined || extent === undefined) return undefined;
  const toMs = extent.toMs + 1;
  const before = Math.min(CHART_BEFORE_MAX_MS, Math.max(CHART_BEFORE_MIN_MS, toMs - finding.sinceMs));
  const fromMs = Math.max(extent.fromMs, finding.sinceMs - before);
  if (fromMs >= toMs) return undefined;
  const fine = await p.history.series({ unit: task.unit, of, fromMs, toMs, buckets: CHART_PARTS });
  const { points, departures } = chartPoints({ fine, fromMs, toMs, columns: CHART_COLUMNS });
  if (points.length === 0) return undefined;
  const { term, unit } = describeSubject(finding.subject);
  const limit = finding.limit;
  return {
    id: `${task.id}-${finding.subject}`,
    term: departures ? `${capital(term)} minus expected` : capital(term),
    // A difference of temperatures is in kelvin.
    unit: departures && unit === '°C' ? 'K' : unit,
    zone: p.zone,
    fromMs,
    toMs,
    points,
    marks: marksOf(task, finding),
    ...(limit === undefined || departures || unitSymbol(limit.unit) !== unit
      ? {}
      : { limit: { value: limit.value, label: `limit ${formatNumber(limit.value)} ${unit}` } }),
  };
}

function marksOf(task: Task, finding: TaskFinding): ChartMark[] {
  const verdicts = [...task.earlierVerdicts, ...(task.verdict === undefined ? [] : [task.verdict])];
  return [
    { atMs: finding.sinceMs, label: 'onset', kind: 'onset' },
    { atMs: finding.atMs, label: 'reported', kind: 'report' },
    ...verdicts.map(({ atMs }) => ({ atMs, label: 'work', kind: 'work' }) as const),
  ];
}
