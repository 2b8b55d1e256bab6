import { Command, Option } from 'commander';
import type { DeadLetter } from '../../schemas/dead-letter.ts';
import { REJECT_CODES } from '../../schemas/reject.ts';
import { withIsoTimes } from '../iso-times.ts';
import { type ListOptions, type PlaceOptions, withListOptions, withPlaceOptions } from '../options.ts';
import { printJson, printTable, wantsJson } from '../output.ts';
import { choosePlace } from '../place.ts';
import { withLog } from '../wiring.ts';

type DeadLetterOptions = PlaceOptions &
  ListOptions & { readonly code?: string; readonly source?: string; readonly counts?: boolean };

/** `chargeair dead-letters`: everything that was refused, as it was received, with the reason. */
export function deadLettersCommand(): Command {
  const command = new Command('dead-letters').description('list what was refused: what, where it stood, and why');
  return withListOptions(withPlaceOptions(command))
    .option('--counts', 'count them by source and reason instead')
    .addOption(new Option('--code <code>', 'only those refused for this reason').choices(REJECT_CODES))
    .option('--source <name>', 'only those from this file or address')
    .action(async (options: DeadLetterOptions) => {
      const place = await choosePlace(options);
      await withLog({ folder: place.folder, access: 'read' }, async (log) => {
        const counts = new Map<string, { source: string; code: string; count: number }>();
        const rows: string[][] = [];
        const json = wantsJson(options);
        for await (const { value: letter } of log.scan({ topic: 'dead_letters' })) {
          if (!isWanted(letter, options)) continue;
          if (options.counts === true) countIn(counts, letter);
          else if (json) printJson(withIsoTimes(letter));
          else rows.push([letter.source, String(letter.position), letter.code, letter.field, letter.detail]);
        }
        if (options.counts !== true) {
          if (!json) printTable(['source', 'position', 'reason', 'field', 'what would mend it'], rows);
          return;
        }
        const counted = [...counts.values()].sort((a, b) => b.count - a.count || (a.source < b.source ? -1 : 1));
        if (json) for (const entry of counted) printJson(entry);
        else
          printTable(
            ['source', 'reason', 'count'],
            counted.map((entry) => [entry.source, entry.code, String(entry.count)]),
          );
      });
    });
}

function isWanted(letter: DeadLetter, options: DeadLetterOptions): boolean {
  return (options.code ?? letter.code) === letter.code && (options.source ?? letter.source) === letter.source;
}

function countIn(counts: Map<string, { source: string; code: string; count: number }>, letter: DeadLetter): void {
  const key = JSON.stringify([letter.source, letter.code]);
  const entry = counts.get(key) ?? { source: letter.source, code: letter.code, count: 0 };
  entry.count += 1;
  counts.set(key, entry);
}
