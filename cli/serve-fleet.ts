import { createApp } from '../alerts/http/app.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import { CommandFault } from './command-fault.ts';
import { fileErrorCode } from './file-error.ts';
import { keepAnalysing } from './keep-analysing.ts';
import { DEFAULT_PORT, type ServerOptions } from './options.ts';
import { print, say } from './output.ts';
import type { Stores } from './wiring.ts';

const LOOPBACK = '127.0.0.1';
/** Ports that are tried, one after the other, when none was asked for. */
const PORTS_TRIED_MAX = 20;
/** How long open requests may take to end when the server stops; what is still open then is cut off. */
const DRAIN_MS = 2000;

/**
 * Serves the pages and the interface of a fleet, and analyses what arrives meanwhile, until the signal is aborted.
 * Prints the address once it answers there.
 *
 * @throws CommandFault when no port could be had.
 */
export async function serveFleet(p: {
  stores: Stores;
  fleet: FleetFile;
  options: ServerOptions;
  signal: AbortSignal;
}): Promise<void> {
  const host = p.options.host ?? LOOPBACK;
  const { app, port } = await listen({ ...p, host });
  const shownHost = host.includes(':') ? `[${host}]` : host;
  print(`chargeair serves ${p.fleet.units.length} units at http://${shownHost}:${port}/`);
  if (!['127.0.0.1', 'localhost', '::1'].includes(host)) {
    say(`Whoever reaches ${host} can read everything and close tasks: let only people you trust reach it.`);
  }
  say('Stop with Ctrl-C.');
  try {
    await keepAnalysing(p);
  } finally {
    const cutOff = setTimeout(() => app.server.closeAllConnections(), DRAIN_MS);
    await app.close();
    clearTimeout(cutOff);
  }
}

type App = ReturnType<typeof createApp>;

async function listen(p: {
  stores: Stores;
  fleet: FleetFile;
  options: ServerOptions;
  host: string;
}): Promise<{ app: App; port: number }> {
  const first = p.options.port ?? DEFAULT_PORT;
  const tries = p.options.port === undefined ? PORTS_TRIED_MAX : 1;
  for (let port = first; port < first + tries; port += 1) {
    const app = createApp({
      log: p.stores.log,
      history: p.stores.history,
      fleet: p.fleet,
      clock: Date.now,
      onError: (error) => say(error.stack ?? error.message),
      hostNames: [p.host],
    });
    try {
      await app.listen({ host: p.host, port });
      const address = app.server.address();
      return { app, port: typeof address === 'object' && address !== null ? address.port : port };
    } catch (error) {
      await app.close();
      if (fileErrorCode(error) !== 'EADDRINUSE') throw listenFault(error, p.host, port);
      say(port + 1 < first + tries ? `Port ${port} is in use; trying ${port + 1}.` : `Port ${port} is in use.`);
    }
  }
  throw new CommandFault({ message: 'No port could be had; name one that is free with --port, or --port 0 for any.' });
}

function listenFault(error: unknown, host: string, port: number): unknown {
  switch (fileErrorCode(error)) {
    case 'EACCES':
      return new CommandFault({ message: `This user may not use port ${port}; name one above 1023 with --port.` });
    case 'EADDRNOTAVAIL':
    case 'ENOTFOUND':
      return new CommandFault({
        message: `${host} is no address of this machine; leave --host out for this machine alone.`,
      });
    default:
      return error;
  }
}
