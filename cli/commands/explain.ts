import { Command, InvalidArgumentError } from 'commander';
import { explainText } from '../explain-text.ts';
import { explainedFinding } from '../explained-finding.ts';
import { withIsoTimes } from '../iso-times.ts';
import { type PlaceOptions, withPlaceOptions } from '../options.ts';
import { print, printJson } from '../output.ts';
import { choosePlace } from '../place.ts';
import { withStores } from '../wiring.ts';

type ExplainOptions = PlaceOptions & { readonly json?: boolean; readonly rows: number };

/** `chargeair explain ID`: a finding taken apart, down to the samples it rests on. */
export function explainCommand(): Command {
  const command = new Command('explain').description('take a finding apart, down to the samples it rests on');
  return withPlaceOptions(command)
    .argument('<finding>', 'id of the finding, as `chargeair findings --json` names it')
    .option('-n, --rows <number>', 'most points and samples to print', parseRows, ROWS)
    .option('--json', 'print everything as one JSON object')
    .action(async (id: string, options: ExplainOptions) => {
      const place = await choosePlace(options);
      await withStores({ folder: place.folder, access: 'read' }, async (stores) => {
        const explained = await explainedFinding({ stores, fleet: place.fleet, id });
        if (options.json === true) printJson(withIsoTimes(explained));
        else for (const line of explainText({ explained, most: options.rows })) print(line);
      });
    });
}

/** Rows that fit a screen beside the rest. */
const ROWS = 12;

function parseRows(text: string): number {
  const rows = Number(text);
  if (!Number.isInteger(rows) || rows < 1) throw new InvalidArgumentError('Write a whole number from 1.');
  return rows;
}
