import { Command } from 'commander';
import { type PlaceOptions, type ServerOptions, withPlaceOptions, withServerOptions } from '../options.ts';
import { choosePlace } from '../place.ts';
import { listenForStop } from '../stop-signal.ts';
import { withStores } from '../wiring.ts';

/** `chargeair serve`: the pages and the interface on this machine, while everything that arrives is analysed. */
export function serveCommand(): Command {
  const command = new Command('serve').description(
    'serve the pages on this machine and analyse what arrives, until stopped',
  );
  return withServerOptions(withPlaceOptions(command)).action(async (options: PlaceOptions & ServerOptions) => {
    const place = await choosePlace(options);
    // Loaded here, since no other command needs a server.
    const { serveFleet } = await import('../serve-fleet.ts');
    const { signal, release } = listenForStop();
    try {
      await withStores({ folder: place.folder, access: 'begin' }, (stores) =>
        serveFleet({ stores, fleet: place.fleet, options, signal }),
      );
    } finally {
      release();
    }
  });
}
