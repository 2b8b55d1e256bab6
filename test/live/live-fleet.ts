import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll } from 'vitest';
import { systemClock } from '../../ingest/live/clock.ts';
import type { LiveSetting } from '../../ingest/live/live-source.ts';
import type { DeadLetter } from '../../schemas/dead-letter.ts';
import { type FleetFile, fleetFileSchema } from '../../schemas/fleet-file.ts';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import type { LogPort } from '../../storage/log/port.ts';
import { openSqliteLog } from '../../storage/log/sqlite.ts';

/** Invented units, with a CSV rule, a bus rule and a Signal K rule. */
export const FLEET_YAML = `version: 1
fleet: { name: Test fleet }
places: [{ id: yard, name: Yard, kind: depot }]
units:
${['digger-1', 'digger-2']
  .map(
    (id) => `  - id: ${id}
    name: ${id}
    kind: mobile_plant
    duty: excavator
    place: yard
    engine: { ratedPowerKw: 200, ratedSpeedRpm: 1900, displacementL: 7.2, strokes: 4, charging: single_stage, boostControl: wastegate, cooler: air_to_air }
    sensors: { boostPressure: { reference: gauge } }
    limits: { source: Engine manual }`,
  )
  .join('\n')}
sources:
  - id: table
    files: "digger-*.csv*"
    format: csv_wide
    unitColumn: unit
    time: { column: time }
    columns:
      engineSpeed: { column: rpm }
      boostPressure: { column: boost, unit: bar, reference: gauge }
  - { id: bus, files: "*.can", format: j1939_candump, unit: digger-1 }
  - { id: boat, files: "*.sk", format: signalk_delta, engines: { port: digger-1, starboard: digger-2 } }
`;

/** The fleet of {@link FLEET_YAML}. */
export function testFleet(written: unknown): FleetFile {
  return fleetFileSchema.parse(written);
}

/** A new folder, removed after the last test of the suite that asks. */
export function liveFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'chargeair-live-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** A log on disk and what a source is given; `failures` holds what a source could not get over. */
export function liveSetting(p: { fleet: FleetFile; folder: string; name?: string }): LiveSetting & {
  readonly log: LogPort;
  readonly said: string[];
  readonly failures: unknown[];
} {
  const said: string[] = [];
  const failures: unknown[] = [];
  return {
    log: openSqliteLog({ path: join(p.folder, `${p.name ?? 'log'}.sqlite`) }),
    fleet: p.fleet,
    clock: systemClock,
    baseFolder: p.folder,
    say: (sentence) => said.push(sentence),
    onFailure: (error) => failures.push(error),
    said,
    failures,
  };
}

/** All sample blocks, in the order of the log. */
export async function blocksIn(log: LogPort): Promise<SampleBlock[]> {
  const blocks: SampleBlock[] = [];
  for await (const record of log.scan({ topic: 'samples' })) blocks.push(record.value);
  return blocks;
}

/** All rows as `unit@time`, sorted; one that stands twice is listed twice. */
export async function rowsIn(log: LogPort): Promise<string[]> {
  return (await blocksIn(log)).flatMap(({ unit, t }) => t.map((ms) => `${unit}@${ms}`)).sort();
}

/** How many rows are durable: those in blocks, and those that lie open for a source. */
export async function takenIn(log: LogPort, source: string): Promise<number> {
  let open = 0;
  for await (const { key, state } of log.allStates({ group: 'ingest' })) {
    if (key.startsWith('live-open:') && key.endsWith(`/${source}`)) open += (state.value as { t: number[] }).t.length;
  }
  return open + (await rowsIn(log)).length;
}

/** All dead letters, in the order of the log. */
export async function lettersIn(log: LogPort): Promise<DeadLetter[]> {
  const letters: DeadLetter[] = [];
  for await (const record of log.scan({ topic: 'dead_letters' })) letters.push(record.value);
  return letters;
}

/** Waits until something holds, which must be soon. */
export async function until(holds: () => boolean | Promise<boolean>, what: string): Promise<void> {
  const deadline = performance.now() + 20_000;
  while (!(await holds())) {
    if (performance.now() > deadline) throw new Error(`it did not come about that ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 20));
  }
}
