import { pathToFileURL } from 'node:url';
import { ADAPTERS } from './adapters.ts';
import type { ReferenceCase } from './case.ts';
import { type Deviation, worstDeviation } from './compare.ts';
import { ReferenceFileError, readReferenceFile } from './read-file.ts';

export type ReferenceVerdict = 'passed' | 'missed' | 'not covered';

/** What became of one case. */
export type ReferenceRow = {
  readonly case: ReferenceCase;
  readonly verdict: ReferenceVerdict;
  /** The worst value; only where our function was run and gave one for every expected key. */
  readonly worst?: Deviation;
  /** Why a case is not covered, or which error our function threw. */
  readonly note?: string;
};

/** The outcome of a run over check files. */
export type ReferenceReport = {
  readonly passed: number;
  readonly missed: number;
  readonly notCovered: number;
  readonly rows: readonly ReferenceRow[];
};

/**
 * Runs every case of the files against our functions.
 *
 * @param paths - JSON files of check cases.
 * @throws ReferenceFileError when a file cannot be read or lacks what a check needs.
 */
export function runReferenceFiles(paths: readonly string[]): ReferenceReport {
  const rows = paths.flatMap((path) => readReferenceFile(path)).map(checkedCase);
  const count = (verdict: ReferenceVerdict) => rows.filter((row) => row.verdict === verdict).length;
  return { passed: count('passed'), missed: count('missed'), notCovered: count('not covered'), rows };
}

/** Runs one case. An error thrown by our function is a miss that names the error, never a pass. */
export function checkedCase(referenceCase: ReferenceCase): ReferenceRow {
  try {
    for (const adapter of ADAPTERS) {
      const result = adapter(referenceCase);
      if (result === undefined) continue;
      if ('notCovered' in result) return { case: referenceCase, verdict: 'not covered', note: result.notCovered };
      return judged(referenceCase, result.values);
    }
  } catch (error) {
    return {
      case: referenceCase,
      verdict: 'missed',
      note: `threw ${error instanceof Error ? error.message : String(error)}`,
    };
  }
  return { case: referenceCase, verdict: 'not covered', note: `no function of ours gives "${referenceCase.quantity}"` };
}

function judged(referenceCase: ReferenceCase, values: Readonly<Record<string, unknown>>): ReferenceRow {
  const absent = Object.keys(referenceCase.expected).filter((key) => !(key in values));
  if (absent.length > 0)
    return { case: referenceCase, verdict: 'not covered', note: `nothing of ours gives ${absent.join(', ')}` };
  const worst = worstDeviation({ expected: referenceCase.expected, got: values, tolerance: referenceCase.tolerance });
  return { case: referenceCase, verdict: worst.fraction <= 1 ? 'passed' : 'missed', worst };
}

/**
 * The report as lines of text: a table with a row a case, then what is behind each miss and each case not covered, then
 * the count.
 */
export function reportLines(report: ReferenceReport): string[] {
  const header = ['id', 'quantity', 'verdict', 'deviation/tolerance', 'source'];
  const cells = [header, ...report.rows.map(cellsOf)];
  const widths = header.map((_, column) => Math.max(...cells.map((row) => row[column]?.length ?? 0)));
  const table = cells.map((row) =>
    row
      .map((cell, column) => cell.padEnd(widths[column] ?? 0))
      .join('  ')
      .trimEnd(),
  );
  const details = report.rows.filter((row) => row.verdict !== 'passed').map(detailOf);
  const total = `${report.passed} passed, ${report.missed} missed, ${report.notCovered} not covered`;
  return [...table, '', ...(details.length > 0 ? [...details, ''] : []), total];
}

function cellsOf(row: ReferenceRow): string[] {
  const deviation = row.worst === undefined ? '-' : shown(row.worst.fraction);
  return [row.case.id, row.case.quantity, row.verdict, deviation, row.case.source];
}

function detailOf(row: ReferenceRow): string {
  if (row.note !== undefined) return `${row.case.id}: ${row.verdict}: ${row.note}`;
  const { path, got, expected } = row.worst ?? { path: '', got: undefined, expected: undefined };
  return `${row.case.id}: missed: ${path} is ${JSON.stringify(got) ?? 'undefined'}, expected ${JSON.stringify(expected)}`;
}

function shown(fraction: number): string {
  return Number.isFinite(fraction) ? fraction.toPrecision(3) : 'unequal';
}

/**
 * The command behind `npm run -s reference -- FILE...`.
 *
 * @returns Exit code: 0 when no case is missed, 1 on a miss, 2 when a file cannot be used.
 */
export function main(paths: readonly string[]): 0 | 1 | 2 {
  if (paths.length === 0) {
    process.stderr.write('No file of check cases was named. Name at least one, such as test/reference/thermo.json.\n');
    return 2;
  }
  try {
    const report = runReferenceFiles(paths);
    process.stdout.write(`${reportLines(report).join('\n')}\n`);
    return report.missed > 0 ? 1 : 0;
  } catch (error) {
    if (!(error instanceof ReferenceFileError)) throw error;
    process.stderr.write(`${error.message}\n`);
    return 2;
  }
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  process.exitCode = main(process.argv.slice(2));
}
