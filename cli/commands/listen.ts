import { dirname, resolve } from 'node:path';
import { Command } from 'commander';
import { LiveSourceError } from '../../ingest/live/live-source.ts';
import { addTokenLine, makeToken } from '../../ingest/live/push-tokens.ts';
import { LoadError } from '../../ingest/load-error.ts';
import { CommandFault, EXIT } from '../command-fault.ts';
import { listenLive } from '../listen-live.ts';
import { type PlaceOptions, type ServerOptions, withPlaceOptions, withServerOptions } from '../options.ts';
import { print, say } from '../output.ts';
import { choosePlace, fleetPath, type Place } from '../place.ts';
import { listenForStop } from '../stop-signal.ts';
import { withStores } from '../wiring.ts';

type ListenOptions = PlaceOptions &
  ServerOptions & { readonly makeToken?: string; readonly candump?: string; readonly source?: string };

const AFTER_HELP = `
Sources stand in the section "live" of the fleet file: an HTTP address that samples are pushed to, MQTT brokers, watched
folders, Signal K servers. For live CAN, pipe in what the system's own tool writes:
  candump -L can0 | chargeair listen --candump - --source RULE

Samples are acknowledged to their senders once they are durable. Stop with Ctrl-C or SIGTERM: what was accepted is kept.`;

/** `chargeair listen`: takes in what the sources of the fleet file send, analyses it, and serves the pages. */
export function listenCommand(): Command {
  const command = new Command('listen').description(
    'take in what live sources send, analyse it and serve the pages, until stopped',
  );
  return withServerOptions(withPlaceOptions(command))
    .option('--make-token <source>', 'make a token for a source that pushes over HTTP, print it once, and end')
    .option('--candump <file>', 'read a CAN interface as candump text; - for stdin')
    .option('--source <id>', 'source rule by which --candump is read')
    .addHelpText('after', AFTER_HELP)
    .action(async (options: ListenOptions) => {
      const place = await choosePlace(options);
      if (options.makeToken !== undefined) await printToken({ place, options, source: options.makeToken });
      else await listen(place, options);
    });
}

async function listen(place: Place, options: ListenOptions): Promise<void> {
  if (options.candump !== undefined && options.candump !== '-') {
    throw new CommandFault({
      message: 'Write --candump - and pipe the log in; load files with: chargeair load FILE',
      exitCode: EXIT.usage,
    });
  }
  if ((options.candump === undefined) !== (options.source === undefined)) {
    throw new CommandFault({ message: 'Give --candump - and --source RULE together.', exitCode: EXIT.usage });
  }
  // Loaded here, since no other command needs a server.
  const { serveFleet } = await import('../serve-fleet.ts');
  const { signal, release } = listenForStop();
  const failed = new AbortController();
  let failure: unknown;
  const onFailure = (error: unknown) => {
    failure ??= error;
    failed.abort();
  };
  try {
    await withStores({ folder: place.folder, access: 'begin' }, async (stores) => {
      const { fleet } = place;
      const path = fleetPath(options) ?? 'fleet.yaml';
      const live = await listenLive({
        log: stores.log,
        fleet,
        fleetPath: path,
        candumpRule: options.source,
        onFailure,
      });
      // The sources first: what they were still handed is in the log before the rest stops.
      const drained = new AbortController();
      const stopping = AbortSignal.any([signal, failed.signal]);
      const drain = async () => {
        await live.stop();
        drained.abort();
      };
      let draining: Promise<void> | undefined;
      stopping.addEventListener('abort', () => {
        draining ??= drain();
      });
      if (stopping.aborted) draining ??= drain();
      try {
        await serveFleet({ stores, fleet, options, signal: drained.signal });
      } finally {
        await (draining ?? drain());
      }
    });
  } finally {
    release();
  }
  if (failure instanceof LiveSourceError || failure instanceof LoadError) {
    throw new CommandFault({ message: failure.message });
  }
  if (failure !== undefined) throw failure;
}

async function printToken(p: { place: Place; options: ListenOptions; source: string }): Promise<void> {
  const { http } = p.place.fleet.live ?? {};
  if (http === undefined || !http.sources.some(({ id }) => id === p.source)) {
    const ids = http?.sources.map(({ id }) => id).join(', ') ?? 'none';
    throw new CommandFault({
      message: `"${p.source}" is not among the sources under live.http of the fleet file; it has ${ids}.`,
    });
  }
  const { token, line } = makeToken(p.source);
  const path = resolve(dirname(fleetPath(p.options) ?? 'fleet.yaml'), http.tokensFile);
  await addTokenLine(path, line);
  print(token);
  say(`This token is shown once. Its SHA-256 was added to ${path}; take the line out to withdraw it.`);
}
