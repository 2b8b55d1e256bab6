import { Command, InvalidArgumentError } from 'commander';
import { unitReportPage } from '../../web/unit-report-page.ts';
import { type PlaceOptions, withPlaceOptions } from '../options.ts';
import { choosePlace } from '../place.ts';
import { chooseUnit } from '../unit-choice.ts';
import { unitReport } from '../unit-report.ts';
import { withStores } from '../wiring.ts';
import { writePage } from '../write-page.ts';

type ReportOptions = PlaceOptions & { readonly output?: string; readonly days: number };

const YEAR_DAYS = 365;

/** `chargeair report UNIT`: the year of a unit as a page that stands alone. */
export function reportCommand(): Command {
  const command = new Command('report').description(
    'write the year of a unit as a page that stands alone: channels, findings, work, operating map, indicators',
  );
  return withPlaceOptions(command)
    .argument('<unit>', 'id of the unit, as the fleet file names it')
    .option('-o, --output <file>', 'write it to this file instead of stdout')
    .option('--days <number>', 'newest days to show', parseDays, YEAR_DAYS)
    .action(async (id: string, options: ReportOptions) => {
      const { fleet, folder } = await choosePlace(options);
      const unit = chooseUnit(fleet, id);
      await withStores({ folder, access: 'read' }, async (stores) => {
        const page = unitReportPage(await unitReport({ stores, fleet, unit, days: options.days }));
        if (options.output === undefined) process.stdout.write(page);
        else await writePage(options.output, page);
      });
    });
}

function parseDays(text: string): number {
  const days = Number(text);
  if (!Number.isInteger(days) || days < 1 || days > 3660)
    throw new InvalidArgumentError('Write a whole number of days from 1 to 3660.');
  return days;
}
