import { open, readFile, rm, stat, utimes } from 'node:fs/promises';
import { hostname } from 'node:os';
import { LiveSourceError } from './live-source.ts';

/** A lock that its holder has not renewed for so long is that of a dead one. */
export const LOCK_STALE_MS = 60_000;

/** A folder held by this process alone. */
export type FolderLock = {
  /**
   * Says that the holder lives; call more often than {@link LOCK_STALE_MS}.
   *
   * @returns False when another has taken the folder meanwhile, as after a long standstill.
   */
  renew(): Promise<boolean>;
  release(): Promise<void>;
};

/**
 * Takes a folder for this process, by a file that only one can make; it works over network mounts too.
 *
 * @param p.path - Of the lock file.
 * @returns `undefined` while another process holds it.
 * @throws LiveSourceError when the folder cannot be written to.
 */
export async function takeFolder(p: { path: string; nowMs: () => number }): Promise<FolderLock | undefined> {
  const mark = `${hostname()} ${process.pid} ${p.nowMs()}\n`;
  for (let tries = 0; tries < 2; tries += 1) {
    try {
      const file = await open(p.path, 'wx');
      await file.writeFile(mark);
      await file.close();
      return {
        renew: async () => {
          if ((await contentOf(p.path)) !== mark) return false;
          const now = new Date(p.nowMs());
          await utimes(p.path, now, now);
          return true;
        },
        // Only its own: after a long standstill another may have taken the folder.
        release: async () => {
          if ((await contentOf(p.path)) === mark) await rm(p.path, { force: true });
        },
      };
    } catch (error) {
      if (codeOf(error) !== 'EEXIST') {
        throw new LiveSourceError(
          `The folder of ${p.path} cannot be written to (${String(error)}); let this user write there.`,
          { cause: error },
        );
      }
    }
    if (!(await isAbandoned(p))) return undefined;
    await rm(p.path, { force: true });
  }
  return undefined;
}

async function isAbandoned(p: { path: string; nowMs: () => number }): Promise<boolean> {
  const [host, pid] = (await contentOf(p.path))?.split(' ') ?? [];
  if (host === hostname() && pid !== undefined && Number(pid) !== process.pid && !isAlive(Number(pid))) return true;
  try {
    return p.nowMs() - (await stat(p.path)).mtimeMs > LOCK_STALE_MS;
  } catch (error) {
    if (codeOf(error) === 'ENOENT') return true;
    throw error;
  }
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return codeOf(error) === 'EPERM';
  }
}

async function contentOf(path: string): Promise<string | undefined> {
  try {
    return await readFile(path, 'utf8');
  } catch (error) {
    if (codeOf(error) === 'ENOENT') return undefined;
    throw error;
  }
}

/** The system's code of a file error. */
export function codeOf(error: unknown): string | undefined {
  return error instanceof Error && 'code' in error && typeof error.code === 'string' ? error.code : undefined;
}
