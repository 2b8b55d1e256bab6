import { Command } from 'commander';
import { isoTime, withIsoTimes } from '../iso-times.ts';
import { type ListOptions, type PlaceOptions, withListOptions, withPlaceOptions } from '../options.ts';
import { printJson, printTable, wantsJson } from '../output.ts';
import { choosePlace } from '../place.ts';
import { chooseUnits } from '../unit-choice.ts';
import { type UnitCoverage, unitCoverage } from '../unit-coverage.ts';
import { withStores } from '../wiring.ts';

type UnitsOptions = PlaceOptions & ListOptions & { readonly unit?: readonly string[] };

/** `chargeair units`: how much the analysis has of each unit, and how well it can judge it. */
export function unitsCommand(): Command {
  const command = new Command('units').description(
    'list the units: newest data, share of usable data, what is learnt, and which further sensor would tell most',
  );
  return withListOptions(withPlaceOptions(command))
    .option('-u, --unit <ids...>', 'only these units')
    .addHelpText(
      'after',
      '\nIn points: share of the running time in which load and speed stood still for long enough. Judged: share of the readings after learning that lay within what was learnt. Information is in bits about the cause of the open findings, else of the usual causes.',
    )
    .action(async (options: UnitsOptions) => {
      const { fleet, folder } = await choosePlace(options);
      const units = chooseUnits(fleet, options.unit);
      await withStores({ folder, access: 'read' }, async (stores) => {
        const lines = await unitCoverage({ stores, fleet, units });
        if (wantsJson(options)) for (const line of lines) printJson(withIsoTimes(line));
        else print(lines);
      });
    });
}

function print(lines: readonly UnitCoverage[]): void {
  printTable(
    [
      'unit',
      'last data',
      'running h',
      'in points',
      'judged',
      'learnt since',
      'learnt',
      'learning',
      'given up',
      'decision interval',
      'false rate',
      'open',
      'further sensor',
    ],
    lines.map((line) => {
      const of = (stage: string) => line.channels.filter((one) => one.stage === stage);
      const since = of('learnt').flatMap(({ sinceMs }) => sinceMs ?? []);
      const intervals = of('learnt').flatMap(({ decisionInterval }) => decisionInterval ?? []);
      return [
        line.unit,
        line.lastDataMs === null ? '-' : isoTime(line.lastDataMs).slice(0, 16),
        line.runningHours.toFixed(0),
        percent(line.sharePoints),
        percent(line.shareJudged),
        since.length === 0 ? '-' : isoTime(Math.min(...since)).slice(0, 10),
        String(of('learnt').length),
        names(of('learning')),
        names(of('given_up')),
        range(intervals),
        String(line.falseFindingsPer100UnitsAndWeek),
        line.openFindings.length === 0
          ? '-'
          : line.openFindings.map(({ kind, severity }) => `${kind} (${severity})`).join(', '),
        line.furtherSensor === null
          ? '-'
          : `${line.furtherSensor.signal} (${line.furtherSensor.bits.toFixed(2)} bit, ${line.furtherSensor.about === 'open_findings' ? 'open findings' : 'usual causes'})`,
      ];
    }),
  );
}

function percent(share: number | null): string {
  return share === null ? '-' : `${(100 * share).toFixed(0)} %`;
}

function names(channels: readonly { channel: string }[]): string {
  return channels.length === 0 ? '-' : channels.map(({ channel }) => channel).join(', ');
}

function range(values: readonly number[]): string {
  if (values.length === 0) return '-';
  const [low, high] = [Math.min(...values).toFixed(1), Math.max(...values).toFixed(1)];
  return low === high ? low : `${low} to ${high}`;
}
