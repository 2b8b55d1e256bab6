import { Command, InvalidArgumentError } from 'commander';
import { DEMO_DAYS } from '../../demo/calendar.ts';
import { type PlaceOptions, type ServerOptions, withDataOption, withServerOptions } from '../options.ts';
import { demoLogFolder, demoPlace } from '../place.ts';
import { prepareDemo } from '../prepare-demo.ts';
import { listenForStop } from '../stop-signal.ts';
import { withStores } from '../wiring.ts';

type StartOptions = Pick<PlaceOptions, 'data'> & ServerOptions & { readonly days?: number };

/** `chargeair start`: the demonstration, from nothing to its pages; the second time it only serves. */
export function startCommand(): Command {
  const command = new Command('start').description(
    'the demonstration: write the logs of an invented fleet, load, analyse and serve them',
  );
  return withServerOptions(withDataOption(command))
    .option('--days <number>', `how many of the invented days, at most ${DEMO_DAYS}; fewer are ready sooner`, parseDays)
    .action(async (options: StartOptions) => {
      const { fleet, folder } = demoPlace(options);
      const { serveFleet } = await import('../serve-fleet.ts');
      const { signal, release } = listenForStop();
      try {
        await withStores({ folder, access: 'begin' }, async (stores) => {
          await prepareDemo({
            stores,
            fleet,
            folder: demoLogFolder(options),
            ...(options.days === undefined ? {} : { days: options.days }),
            signal,
          });
          if (!signal.aborted) await serveFleet({ stores, fleet, options, signal });
        });
      } finally {
        release();
      }
    });
}

function parseDays(text: string): number {
  const days = Number(text);
  if (!/^\d+$/.test(text) || days < 1 || days > DEMO_DAYS)
    throw new InvalidArgumentError(`Write a whole number from 1 to ${DEMO_DAYS}.`);
  return days;
}
