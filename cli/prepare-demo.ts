import { existsSync } from 'node:fs';
import { mkdir, readdir, rename, rm } from 'node:fs/promises';
import { join } from 'node:path';
import { DEMO_DAYS, DEMO_END_MS } from '../demo/calendar.ts';
import { type DemoProgress, writeDemoLogs } from '../demo/write-logs.ts';
import { assert } from '../schemas/assert.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import { analyseWithProgress } from './analyse-with-progress.ts';
import { CommandFault } from './command-fault.ts';
import { fileErrorSentence } from './file-error.ts';
import { loadFiles } from './load-files.ts';
import { say } from './output.ts';
import { createProgress } from './progress.ts';
import type { Stores } from './wiring.ts';

const GROUP = 'demo';

/**
 * Writes, loads and analyses the logs of the demonstration, each only when it has not been done. A run that was cut off
 * is taken up where it stood: logs are whole or not there, and what was loaded is recognised.
 *
 * @param p.folder - Where the logs are kept.
 * @param p.days - How many of the invented days; left out, all. More days can be added to fewer later.
 * @param p.signal - Stops between two files or two steps.
 */
export async function prepareDemo(p: {
  stores: Stores;
  fleet: FleetFile;
  folder: string;
  days?: number;
  signal: AbortSignal;
}): Promise<void> {
  const { log } = p.stores;
  const days = p.days ?? DEMO_DAYS;
  const key = `loaded-${days}-days`;
  const loaded = await log.states({ group: GROUP, keys: [key] });
  if (!loaded.has(key)) {
    const files = await demoLogs({ folder: p.folder, days, signal: p.signal });
    if (files === undefined) return;
    // The invented days may lie ahead of this machine's clock, and must not be refused for it.
    const nowMs = Math.max(Date.now(), DEMO_END_MS);
    say(`Loading ${files.length} log files.`);
    const { reports, failures } = await loadFiles({ files, load: { fleet: p.fleet, log, nowMs }, signal: p.signal });
    if (p.signal.aborted) return;
    assert(failures === 0, 'every log of the demonstration can be read');
    await log.commit({ group: GROUP, emit: [], state: [{ key, value: { version: 1, files: reports.length } }] });
  }
  await analyseWithProgress(p);
}

/**
 * Paths of the demonstration's logs, in the order of their names; written first where they are not there yet.
 *
 * @returns `undefined` when it was told to stop while writing them.
 */
async function demoLogs(p: { folder: string; days: number; signal: AbortSignal }): Promise<string[] | undefined> {
  const logs = join(p.folder, `logs-${p.days}-days`);
  try {
    if (!existsSync(logs)) await writeLogs({ ...p, logs });
    return (await readdir(logs)).sort().map((name) => join(logs, name));
  } catch (error) {
    if (error === p.signal.reason) return undefined;
    throw new CommandFault({ message: `${logs} ${fileErrorSentence(error)}` });
  }
}

/** Written under another name first, so that logs cut off in the middle are never taken for whole ones. */
async function writeLogs(p: { days: number; logs: string; signal: AbortSignal }): Promise<void> {
  const unfinished = `${p.logs}-unfinished`;
  await rm(unfinished, { recursive: true, force: true });
  await mkdir(unfinished, { recursive: true });
  say(`Writing the logs of an invented fleet, ${p.days} days.`);
  const progress = createProgress('Writing');
  const onProgress = (at: DemoProgress) => {
    p.signal.throwIfAborted();
    progress.update(at.doneUnitDays / at.allUnitDays);
  };
  try {
    await writeDemoLogs({ folder: unfinished, days: p.days, onProgress });
  } finally {
    progress.stop();
  }
  await rename(unfinished, p.logs);
}
