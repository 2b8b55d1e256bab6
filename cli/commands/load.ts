import { Command } from 'commander';
import type { LoadReport } from '../../ingest/load-report.ts';
import type { FleetFile } from '../../schemas/fleet-file.ts';
import type { SourceRule } from '../../schemas/source-rule.ts';
import { analyseWithProgress } from '../analyse-with-progress.ts';
import { CommandFault, EXIT } from '../command-fault.ts';
import { loadFiles } from '../load-files.ts';
import { type PlaceOptions, withPlaceOptions } from '../options.ts';
import { print, printJson, say } from '../output.ts';
import { choosePlace } from '../place.ts';
import { listenForStop } from '../stop-signal.ts';
import { withStores } from '../wiring.ts';

type LoadCommandOptions = PlaceOptions & {
  readonly source?: string;
  readonly unit?: string;
  readonly json?: boolean;
  readonly analyse: boolean;
};

/** `chargeair load FILE…`: takes log files in, then analyses what they brought. */
export function loadCommand(): Command {
  const command = new Command('load').description(
    'take log files in and analyse them; the same file twice changes nothing',
  );
  return withPlaceOptions(command)
    .argument('<files...>', 'log files, packed with gzip or not')
    .option('--source <id>', 'read them by this rule of the fleet file, whatever their names')
    .option('-u, --unit <id>', 'the unit they are of, for files that do not say')
    .option('--no-analyse', 'only take them in; `chargeair run` or `serve` analyses them later')
    .option('--json', 'print one JSON object a file')
    .addHelpText(
      'after',
      '\nExit code 1 when a file could not be loaded or anything in it was refused; what was accepted is in all the same.',
    )
    .action(async (files: string[], options: LoadCommandOptions) => {
      const { fleet, folder } = await choosePlace(options);
      const rule = options.source === undefined ? undefined : ruleOf(fleet, options.source);
      const { signal, release } = listenForStop();
      try {
        await withStores({ folder, access: 'begin' }, async (stores) => {
          const load = {
            fleet,
            log: stores.log,
            nowMs: Date.now(),
            ...(rule === undefined ? {} : { rule }),
            ...(options.unit === undefined ? {} : { unit: options.unit }),
          };
          const onReport = options.json === true ? printJson : printReport;
          const { reports, failures } = await loadFiles({ files, load, signal, onReport });
          if (failures > 0 || signal.aborted || reports.some(hasRefusals)) process.exitCode = EXIT.refused;
          if (options.analyse) await analyseWithProgress({ stores, fleet, signal });
        });
      } finally {
        release();
      }
    });
}

function ruleOf(fleet: FleetFile, id: string): SourceRule {
  const rule = fleet.sources.find((source) => source.id === id);
  if (rule !== undefined) return rule;
  const ids = fleet.sources.map((source) => source.id).join(', ');
  throw new CommandFault({ message: `The fleet file has no source "${id}"; it has ${ids === '' ? 'none' : ids}.` });
}

function hasRefusals(report: LoadReport): boolean {
  return (
    report.problem !== undefined ||
    [...Object.values(report.rejected), ...Object.values(report.rejectedValues)].some((count) => count > 0)
  );
}

function printReport(report: LoadReport): void {
  const { file, format, source, rows, accepted, duplicates } = report;
  print(`${file} (${format}, ${source}): ${rows} rows, ${accepted} accepted, ${duplicates} seen before`);
  for (const [code, count] of Object.entries(report.rejected)) print(`  ${count} rows refused: ${code}`);
  for (const [code, count] of Object.entries(report.rejectedValues)) print(`  ${count} values refused: ${code}`);
  for (const [signal, { count, min, max, mean }] of Object.entries(report.signals)) {
    print(`  ${signal}: ${count} values from ${rounded(min)} to ${rounded(max)}, mean ${rounded(mean)}`);
  }
  if (report.problem !== undefined) say(`${file}: ${report.problem}`);
}

function rounded(value: number | null): string {
  return value === null ? 'none' : String(Number(value.toPrecision(6)));
}
