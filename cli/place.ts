import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { demoFleetYaml } from '../demo/write-logs.ts';
import { assert } from '../schemas/assert.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import { CommandFault } from './command-fault.ts';
import type { PlaceOptions } from './options.ts';
import { faultLine, readFleetFile, readFleetText } from './read-fleet-file.ts';

/** The fleet that a command works on, and the folder that holds its data. */
export type Place = {
  readonly fleet: FleetFile;
  /** How to name the fleet file to a person. */
  readonly fleetName: string;
  readonly folder: string;
};

const DEFAULT_FOLDER = '.chargeair';
const LOCAL_FLEET_FILE = 'fleet.yaml';

/**
 * The place that options and environment name.
 *
 * Without a folder named, the demonstration keeps to a folder of its own below the usual one, so that its invented data
 * never meets that of a real fleet.
 *
 * @throws CommandFault with every fault of the fleet file, one a line.
 */
export async function choosePlace(options: PlaceOptions): Promise<Place> {
  const path = fleetPath(options);
  if (path === undefined) return demoPlace(options);
  const checked = await readFleetFile({ path });
  if (!checked.ok) throw new CommandFault({ message: checked.faults.map(faultLine).join('\n') });
  return { fleet: checked.value, fleetName: path, folder: namedFolder(options) ?? DEFAULT_FOLDER };
}

/** The demonstration's place; `chargeair start` always works there. */
export function demoPlace(options: Pick<PlaceOptions, 'data'>): Place {
  const checked = readFleetText({ text: demoFleetYaml(), file: 'the fleet of the demonstration' });
  assert(
    checked.ok,
    `the fleet of the demonstration holds: ${checked.ok ? '' : checked.faults.map(faultLine).join('; ')}`,
  );
  return {
    fleet: checked.value,
    fleetName: 'the fleet of the demonstration',
    folder: namedFolder(options) ?? join(DEFAULT_FOLDER, 'demo'),
  };
}

/** Folder that the demonstration writes its invented logs to. */
export function demoLogFolder(options: Pick<PlaceOptions, 'data'>): string {
  return join(namedFolder(options) ?? DEFAULT_FOLDER, 'demo');
}

/** The fleet file that options, environment or the working folder name; `undefined` when none does. */
export function fleetPath(options: PlaceOptions): string | undefined {
  if (options.config !== undefined) return options.config;
  const fromEnvironment = process.env['CHARGEAIR_CONFIG'];
  if (fromEnvironment !== undefined && fromEnvironment !== '') return fromEnvironment;
  return existsSync(LOCAL_FLEET_FILE) ? LOCAL_FLEET_FILE : undefined;
}

function namedFolder(options: Pick<PlaceOptions, 'data'>): string | undefined {
  if (options.data !== undefined) return options.data;
  const fromEnvironment = process.env['CHARGEAIR_DATA'];
  return fromEnvironment !== undefined && fromEnvironment !== '' ? fromEnvironment : undefined;
}
