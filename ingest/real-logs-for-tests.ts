import { readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parse } from 'yaml';
import { type FleetFile, fleetFileSchema } from '../schemas/fleet-file.ts';
import type { SampleBlock } from '../schemas/sample-block.ts';
import type { LogPort } from '../storage/log/port.ts';

/** Folder of the open logs. */
export const REAL_LOGS = join(dirname(fileURLToPath(import.meta.url)), '../test/data');

/** The open logs as sources of invented units. */
export const realFleet: FleetFile = fleetFileSchema.parse(parse(readFileSync(join(REAL_LOGS, 'fleet.yaml'), 'utf8')));

/** The files of a folder as its expected.json describes them. */
export function expectedFiles(folder: string): unknown[] {
  return (JSON.parse(readFileSync(join(REAL_LOGS, folder, 'expected.json'), 'utf8')) as { files: unknown[] }).files;
}

/** All sample blocks that one source has brought. */
export async function blocksOf(log: LogPort, source: string): Promise<SampleBlock[]> {
  const blocks: SampleBlock[] = [];
  for await (const record of log.scan({ topic: 'samples' })) {
    if (record.value.source === source) blocks.push(record.value);
  }
  return blocks;
}
