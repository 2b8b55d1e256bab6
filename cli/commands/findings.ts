import { Command, Option } from 'commander';
import { FINDING_KINDS, type Finding } from '../../schemas/finding.ts';
import type { LogPort } from '../../storage/log/port.ts';
import { isoTime, withIsoTimes } from '../iso-times.ts';
import { type ListOptions, type PlaceOptions, withListOptions, withPlaceOptions } from '../options.ts';
import { printJson, printTable, wantsJson } from '../output.ts';
import { choosePlace } from '../place.ts';
import { withLog } from '../wiring.ts';

type FindingsOptions = PlaceOptions & ListOptions & { readonly unit?: string; readonly state?: Finding['state'] };

/** `chargeair findings`: what departs, on which unit, since when, how badly and most likely why. */
export function findingsCommand(): Command {
  const command = new Command('findings').description(
    'list what departs: which unit, since when, how badly and most likely why',
  );
  return withListOptions(withPlaceOptions(command))
    .option('-u, --unit <id>', 'only findings of this unit')
    .addOption(new Option('-s, --state <state>', 'only findings in this state').choices(['open', 'cleared']))
    .action(async (options: FindingsOptions) => {
      const place = await choosePlace(options);
      await withLog({ folder: place.folder, access: 'read' }, async (log) => {
        const all = await newestFindings(log, options.unit);
        printFindings(
          all.filter((finding) => options.state === undefined || finding.state === options.state),
          options,
        );
      });
    });
}

/** The newest version of every finding, in the order in which they were first reported. */
async function newestFindings(log: LogPort, unit: string | undefined): Promise<Finding[]> {
  const newest = new Map<string, Finding>();
  const records = log.scan({ topic: 'findings', ...(unit === undefined ? {} : { key: unit }) });
  for await (const { value } of records) newest.set(value.id, value);
  return [...newest.values()].sort((a, b) => a.atMs - b.atMs || (a.id < b.id ? -1 : 1));
}

function printFindings(findings: readonly Finding[], options: ListOptions): void {
  if (wantsJson(options)) {
    for (const finding of findings) printJson(asOutput(finding));
    return;
  }
  printTable(
    ['unit', 'finding', 'severity', 'since', 'state', 'most likely cause', 'what shows it'],
    findings.map((f) => [
      f.unit,
      FINDING_KINDS[f.kind],
      f.severity,
      isoTime(f.sinceMs),
      f.state,
      likeliest(f),
      f.evidence.sentence,
    ]),
  );
}

/** What a script looks for first comes first. */
function asOutput(finding: Finding): unknown {
  const { version: _version, unit, kind, sinceMs, atMs, severity, causes, limit, ...rest } = finding;
  return withIsoTimes({
    unit,
    kind,
    sinceMs,
    atMs,
    severity,
    causes,
    ...(limit === undefined ? {} : { limit }),
    ...rest,
  });
}

function likeliest(finding: Finding): string {
  const [first] = finding.causes;
  return first === undefined ? '' : `${first.cause} (${Math.round(first.probability * 100)} %)`;
}
