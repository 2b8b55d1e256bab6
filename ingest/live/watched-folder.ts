import { mkdir, readdir, rename, stat } from 'node:fs/promises';
import { join, resolve } from 'node:path';
import type { FolderSource } from '../../schemas/live-sources.ts';
import { PortError } from '../../storage/port-error.ts';
import { LoadError } from '../load-error.ts';
import { loadFile } from '../load-file.ts';
import { tallyTotal } from '../load-progress.ts';
import type { LoadReport } from '../load-report.ts';
import { sleep } from './clock.ts';
import { codeOf, type FolderLock, LOCK_STALE_MS, takeFolder } from './folder-lock.ts';
import { type LiveSetting, type LiveSource, LiveSourceError } from './live-source.ts';

const LOCK_NAME = '.chargeair-lock';
/** Where files go: those that were loaded, and those that could not be. */
const DONE = 'done';
const REFUSED = 'refused';
/** Names under which files are still being written, by the custom of copying and downloading programs. */
const TEMPORARY = /^[.~]|(\.(part|partial|tmp|temp|filepart|crdownload|download|swp|lock)|~)$/i;
/** Loading a file that another process takes readings of the same unit from is tried again so often. */
const ATTEMPTS_MAX = 8;
const FIRST_PAUSE_MS = 200;

/** Where files stood when they were last looked at. */
type Sight = { readonly size: number; readonly mtimeMs: number; readonly sinceMs: number };

/**
 * Watches a folder into which a logger or a ship's synchronisation drops files. Each is loaded once it is complete and
 * then moved to `done` or `refused` below the folder; none is ever deleted. It looks from time to time rather than asks
 * to be told, which works on network mounts too.
 *
 * After a crash the next start goes on: a file that was loaded but not moved counts as known. Of two watchers only one
 * works; the other takes over when the first is gone.
 *
 * @throws LiveSourceError when the folder is missing or cannot be written to.
 */
export async function startWatchedFolder(p: LiveSetting & { readonly source: FolderSource }): Promise<LiveSource> {
  const { source, clock, say } = p;
  const folder = resolve(p.baseFolder, source.path);
  await makeFolders(source.id, folder);
  const stopping = new AbortController();
  let lock: FolderLock | undefined = await takeFolder({ path: join(folder, LOCK_NAME), nowMs: clock.now });
  say(
    lock === undefined
      ? `${source.id}: another process watches ${folder}; waiting.`
      : `${source.id}: watches ${folder}.`,
  );
  let renewedMs = clock.now();
  const seen = new Map<string, Sight>();

  const renew = async () => {
    if (lock === undefined || clock.now() - renewedMs < LOCK_STALE_MS / 6) return;
    renewedMs = clock.now();
    if (!(await lock.renew())) lock = undefined;
  };

  const isComplete = async (name: string): Promise<boolean> => {
    const { size, mtimeMs } = await stat(join(folder, name));
    if (source.wholeOnArrival.some((ending) => name.endsWith(ending))) return true;
    const before = seen.get(name);
    const isSame = before !== undefined && before.size === size && before.mtimeMs === mtimeMs;
    const sight = isSame ? before : { size, mtimeMs, sinceMs: clock.now() };
    seen.set(name, sight);
    return clock.now() - sight.sinceMs >= source.settleSeconds * 1000;
  };

  const look = async (): Promise<void> => {
    await renew();
    const entries = await readdir(folder, { withFileTypes: true });
    const names = entries.filter((entry) => entry.isFile() && !TEMPORARY.test(entry.name)).map(({ name }) => name);
    for (const name of seen.keys()) if (!names.includes(name)) seen.delete(name);
    for (const name of names.sort()) {
      await renew();
      if (stopping.signal.aborted || lock === undefined) return;
      try {
        if (!(await isComplete(name))) continue;
      } catch (error) {
        // Whoever dropped it has taken it away again.
        if (codeOf(error) === 'ENOENT') continue;
        throw error;
      }
      await load(name);
      seen.delete(name);
    }
  };

  const load = async (name: string): Promise<void> => {
    const path = join(folder, name);
    let target = DONE;
    try {
      const report = await loadPatiently(path);
      if (report === undefined) return;
      say(`${source.id}: ${reportLine(name, report)}`);
      if (report.problem !== undefined && report.accepted === 0 && report.duplicates === 0) target = REFUSED;
    } catch (error) {
      if (!(error instanceof LoadError) || error.code === 'state_unreadable') throw error;
      say(`${source.id}: ${name} is refused: ${error.message}`);
      target = REFUSED;
    }
    await rename(path, await freePath(join(folder, target), name));
  };

  const loadPatiently = async (path: string): Promise<LoadReport | undefined> => {
    for (let tries = 1; ; tries += 1) {
      try {
        return await loadFile({
          path,
          fleet: p.fleet,
          log: p.log,
          nowMs: clock.now(),
          onProgress: () => stopping.signal.throwIfAborted(),
        });
      } catch (error) {
        // What was stored of it stays, and the next start goes on there.
        if (error === stopping.signal.reason) return undefined;
        const canHelp = error instanceof PortError && (error.retryable || error.code === 'state_changed');
        if (!canHelp || tries >= ATTEMPTS_MAX) throw error;
        await sleep(clock, { ms: FIRST_PAUSE_MS * 2 ** (tries - 1), signal: stopping.signal });
      }
    }
  };

  const run = async (): Promise<void> => {
    let isTold = false;
    while (!stopping.signal.aborted) {
      try {
        lock ??= await takeFolder({ path: join(folder, LOCK_NAME), nowMs: clock.now });
        if (lock !== undefined) {
          await look();
        }
        isTold = false;
      } catch (error) {
        // A mount that is away comes back; anything else does not.
        if (codeOf(error) === undefined || error instanceof PortError) throw error;
        if (!isTold) say(`${source.id}: ${folder} cannot be read (${String(error)}); looking again until it can.`);
        isTold = true;
      }
      await sleep(clock, { ms: source.pollSeconds * 1000, signal: stopping.signal });
    }
  };
  const ended = run().catch((error: unknown) => p.onFailure(error));
  return {
    id: source.id,
    async stop() {
      stopping.abort();
      await ended;
      await lock?.release();
    },
  };
}

async function makeFolders(id: string, folder: string): Promise<void> {
  try {
    if (!(await stat(folder)).isDirectory()) throw new LiveSourceError(`${id}: ${folder} is no folder; name one.`);
    await mkdir(join(folder, DONE), { recursive: true });
    await mkdir(join(folder, REFUSED), { recursive: true });
  } catch (error) {
    if (error instanceof LiveSourceError) throw error;
    throw new LiveSourceError(
      `${id}: ${folder} cannot be used (${String(error)}); make it, and let this user write there.`,
      { cause: error },
    );
  }
}

/** A name in a folder that no file has: a second file of one name gets a number, and replaces nothing. */
async function freePath(folder: string, name: string): Promise<string> {
  const taken = new Set(await readdir(folder));
  let free = name;
  for (let number = 2; taken.has(free); number += 1) free = `${number}-${name}`;
  return join(folder, free);
}

function reportLine(name: string, report: LoadReport): string {
  const refused = tallyTotal(report.rejected) + tallyTotal(report.rejectedValues);
  const problem = report.problem === undefined ? '' : `; ${report.problem}`;
  return `${name}: ${report.rows} rows, ${report.accepted} accepted, ${report.duplicates} seen before, ${refused} refusals${problem}`;
}
