import { type ChildProcess, spawn } from 'node:child_process';
import { once } from 'node:events';
import { createWriteStream } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { createServer } from 'node:net';

/** A server of another make that runs for the tests. */
export type ServerProcess = {
  /** Ends it kindly, after a while by force. */
  stop(): Promise<void>;
  /** Cuts it off as a power cut would. */
  kill(): Promise<void>;
};

/** Ports of this machine that nobody listens at just now. */
export async function freePorts(count: number): Promise<number[]> {
  const servers = Array.from({ length: count }, () => createServer().listen(0, '127.0.0.1'));
  await Promise.all(servers.map((server) => once(server, 'listening')));
  const ports = servers.map((server) => {
    const address = server.address();
    if (address === null || typeof address === 'string') throw new Error('no port of a listening server');
    return address.port;
  });
  await Promise.all(servers.map((server) => new Promise((resolve) => server.close(resolve))));
  return ports;
}

/**
 * Starts a server and waits until `isReady` says so.
 *
 * @param p.logPath - Where its output goes; the end of it is part of the error when it does not come up.
 * @throws Error when it ends before it is ready, or is not ready in two minutes.
 */
export async function startServer(p: {
  command: string;
  args: readonly string[];
  env?: NodeJS.ProcessEnv;
  logPath: string;
  isReady: () => Promise<boolean>;
}): Promise<ServerProcess> {
  const child = spawn(p.command, p.args, {
    env: { ...process.env, ...p.env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const log = createWriteStream(p.logPath, { flags: 'a' });
  child.stdout.pipe(log, { end: false });
  child.stderr.pipe(log, { end: false });
  const endWithUs = () => child.kill('SIGKILL');
  process.once('exit', endWithUs);
  child.once('close', () => {
    process.off('exit', endWithUs);
    log.end();
  });
  const until = Date.now() + 120_000;
  while (!(await p.isReady().catch(() => false))) {
    if (hasEnded(child) || Date.now() > until) {
      child.kill('SIGKILL');
      const said = await readFile(p.logPath, 'utf8');
      throw new Error(`${p.command} did not come up:\n${said.slice(-3000)}`);
    }
    await new Promise((resolve) => setTimeout(resolve, 200));
  }
  const end = async (signal: NodeJS.Signals) => {
    if (hasEnded(child)) return;
    const closed = once(child, 'close');
    child.kill(signal);
    const force = setTimeout(() => child.kill('SIGKILL'), 15_000);
    await closed;
    clearTimeout(force);
  };
  return { stop: () => end('SIGTERM'), kill: () => end('SIGKILL') };
}

function hasEnded(child: ChildProcess): boolean {
  return child.exitCode !== null || child.signalCode !== null;
}
