import { type SpawnOptions, spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { mkdir, rename, rm } from 'node:fs/promises';
import { homedir } from 'node:os';
import { delimiter, join } from 'node:path';

/** Where what takes minutes to fetch or build is kept from run to run: the XDG cache folder, never the source tree. */
export function cacheFolder(name: string): string {
  return join(process.env.XDG_CACHE_HOME ?? join(homedir(), '.cache'), 'chargeair', name);
}

/**
 * A folder that is made once: `make` fills a new one beside it, which takes its place only when all went well.
 *
 * @returns The folder's path, whether it was there already or has been made now.
 */
export async function madeOnce(name: string, make: (folder: string) => Promise<void>): Promise<string> {
  const folder = cacheFolder(name);
  if (existsSync(folder)) return folder;
  const making = `${folder}.${process.pid}`;
  await mkdir(making, { recursive: true });
  try {
    await make(making);
    await rename(making, folder);
  } catch (error) {
    await rm(making, { recursive: true, force: true });
    // Another run may have been quicker; its folder is as good.
    if (!existsSync(folder)) throw error;
  }
  return folder;
}

/** Path of a program of this machine. @throws Error that says in one sentence what to install, when it is missing. */
export function requireProgram(p: { name: string; install: string }): string {
  const folders = (process.env.PATH ?? '').split(delimiter);
  const found = folders.map((folder) => join(folder, p.name)).find((path) => existsSync(path));
  if (found === undefined) throw new Error(`These tests need ${p.name}, which is not here: ${p.install}.`);
  return found;
}

/** Runs a program to its end. @throws Error with the end of what it said, when it fails. */
export async function run(command: string, args: readonly string[], options: SpawnOptions = {}): Promise<string> {
  const child = spawn(command, args, { stdio: ['ignore', 'pipe', 'pipe'], ...options });
  let said = '';
  const keep = (chunk: Buffer) => {
    said = (said + chunk.toString('utf8')).slice(-20_000);
  };
  child.stdout?.on('data', keep);
  child.stderr?.on('data', keep);
  const code = await new Promise<number | null>((resolve, reject) => {
    child.once('error', reject);
    child.once('close', resolve);
  });
  if (code !== 0) throw new Error(`${command} ${args.join(' ')} ended with ${code}:\n${said.slice(-4000)}`);
  return said;
}
