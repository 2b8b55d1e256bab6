import { type Command, InvalidArgumentError, Option } from 'commander';
import { STORE_VARIABLES } from './remote-stores.ts';

/** Where a command finds the fleet file and the data; both may be left out. */
export type PlaceOptions = { readonly config?: string; readonly data?: string };

/** How a list is printed. */
export type ListOptions = { readonly json?: boolean; readonly table?: boolean };

/** Where a server listens. */
export type ServerOptions = { readonly port?: number; readonly host?: string };

const CONFIG_HELP = 'fleet file (default: $CHARGEAIR_CONFIG, then ./fleet.yaml, then the fleet of the demonstration)';
const DATA_HELP = 'folder that holds the data (default: $CHARGEAIR_DATA, then .chargeair)';

const LOG_HELP = 'keep records and states in Kafka: kafka://HOST:PORT/PREFIX';
const HISTORY_HELP = 'keep operating points in InfluxDB 2: influx+http://HOST:PORT/BUCKET?org=ORG';

/** Adds `--config`. */
export function withConfigOption(command: Command): Command {
  return command.option('-c, --config <file>', CONFIG_HELP);
}

/** Adds `--data`, and `--log` and `--history` for stores that are no files. */
export function withDataOption(command: Command): Command {
  return command
    .option('-d, --data <folder>', DATA_HELP)
    .addOption(storeOption('--log <address>', LOG_HELP, STORE_VARIABLES.log))
    .addOption(storeOption('--history <address>', HISTORY_HELP, STORE_VARIABLES.history));
}

/** An option that stands for a variable of the environment: the wiring, which alone picks stores, reads only that. */
function storeOption(flags: string, help: string, variable: string): Option {
  return new Option(flags, `${help} (default: $${variable}, then a file in the data folder)`).argParser((address) => {
    process.env[variable] = address;
    return address;
  });
}

/** Adds `--config` and `--data`. */
export function withPlaceOptions(command: Command): Command {
  return withDataOption(withConfigOption(command));
}

/** Adds `--json` and `--table`. */
export function withListOptions(command: Command): Command {
  return command
    .option('--json', 'print one JSON object a line (the default when the output is no terminal)')
    .option('--table', 'print a table (the default on a terminal)');
}

/** Adds `--port` and `--host`. */
export function withServerOptions(command: Command): Command {
  const port = new Option(
    '-p, --port <number>',
    `port; 0 for any (default: ${DEFAULT_PORT}, or the next one that is free)`,
  );
  const host = new Option('--host <address>', 'address to listen at (default: this machine alone)');
  return command.addOption(port.argParser(parsePort).env('CHARGEAIR_PORT')).addOption(host.env('CHARGEAIR_HOST'));
}

/** First port that is tried when none is asked for. */
export const DEFAULT_PORT = 8473;

function parsePort(text: string): number {
  const port = Number(text);
  if (!/^\d+$/.test(text) || port > 65_535)
    throw new InvalidArgumentError('Write a whole number from 0 to 65535; 0 takes any free port.');
  return port;
}
