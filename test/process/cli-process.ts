import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { afterAll } from 'vitest';

const bootstrap = fileURLToPath(new URL('../../cli/bootstrap.mjs', import.meta.url));

/** How a command ended and what it said. */
export type Ended = { readonly code: number | null; readonly stdout: string; readonly stderr: string };

/** Runs the built command as a person would, from the given folder, and waits for its end. */
export async function chargeair(p: {
  args: readonly string[];
  cwd: string;
  env?: Record<string, string>;
}): Promise<Ended> {
  const child = startChargeair(p);
  return child.ended;
}

/** A command that keeps running. */
export type Running = {
  readonly process: ChildProcess;
  readonly ended: Promise<Ended>;
  /** Resolves with the match once stdout or stderr shows it; rejects when the command ends before. */
  shows(pattern: RegExp): Promise<RegExpMatchArray>;
};

/**
 * Starts the built command without waiting for its end.
 *
 * @param p.input - What its standard input holds; left out, nothing.
 */
export function startChargeair(p: {
  args: readonly string[];
  cwd: string;
  env?: Record<string, string>;
  input?: string;
}): Running {
  const { CHARGEAIR_CONFIG: _config, CHARGEAIR_DATA: _data, ...environment } = process.env;
  const child = spawn(process.execPath, [bootstrap, 'chargeair', ...p.args], {
    cwd: p.cwd,
    env: { ...environment, ...p.env },
    stdio: ['pipe', 'pipe', 'pipe'],
  });
  // A command that ends without reading breaks the pipe.
  child.stdin.on('error', () => {});
  child.stdin.end(p.input ?? '');
  let stdout = '';
  let stderr = '';
  const watchers = new Set<() => void>();
  child.stdout.setEncoding('utf8').on('data', (text: string) => {
    stdout += text;
    for (const watch of watchers) watch();
  });
  child.stderr.setEncoding('utf8').on('data', (text: string) => {
    stderr += text;
    for (const watch of watchers) watch();
  });
  const ended = new Promise<Ended>((resolve) => child.on('close', (code) => resolve({ code, stdout, stderr })));
  const shows = (pattern: RegExp) =>
    new Promise<RegExpMatchArray>((resolve, reject) => {
      const watch = () => {
        const match = stdout.match(pattern) ?? stderr.match(pattern);
        if (match === null) return;
        watchers.delete(watch);
        resolve(match);
      };
      watchers.add(watch);
      watch();
      void ended.then(({ code }) =>
        reject(new Error(`ended with ${code} before it showed ${pattern}: ${stdout}${stderr}`)),
      );
    });
  return { process: child, ended, shows };
}

/** A new folder for the suite that calls it, removed after the last of its tests. */
export function workFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'chargeair-cli-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** The records of JSON lines. */
export function jsonLines(text: string): Record<string, unknown>[] {
  return text
    .split('\n')
    .filter((line) => line !== '')
    .map((line) => JSON.parse(line) as Record<string, unknown>);
}
