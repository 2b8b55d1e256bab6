import { Command } from 'commander';
import { keepAnalysing } from '../keep-analysing.ts';
import { type PlaceOptions, withPlaceOptions } from '../options.ts';
import { say } from '../output.ts';
import { choosePlace } from '../place.ts';
import { listenForStop } from '../stop-signal.ts';
import { withStores } from '../wiring.ts';

/** `chargeair run`: analyses whatever arrives in the log, until it is stopped; without a server. */
export function runCommand(): Command {
  return withPlaceOptions(
    new Command('run').description('analyse what arrives in the log until stopped, without a server'),
  ).action(async (options: PlaceOptions) => {
    const place = await choosePlace(options);
    const stop = listenForStop();
    try {
      await withStores({ folder: place.folder, access: 'begin' }, async (stores) => {
        say(`Analysing what arrives in ${place.folder} for ${place.fleet.units.length} units. Stop with Ctrl-C.`);
        await keepAnalysing({ stores, fleet: place.fleet, signal: stop.signal });
      });
    } finally {
      stop.release();
    }
  });
}
