import { say } from './output.ts';

/** How often to look whether npm is still there. */
const PARENT_CHECK_MS = 300;

/**
 * Listens for the wish to stop: Ctrl-C, or SIGTERM from a service manager. The first asks everything to finish what is
 * under way; the second ends the process at once, which loses nothing, since every step is durable or did not happen.
 *
 * npm passes a SIGTERM on to the shell between, which ends without telling anybody. So under npm the end of that shell
 * is taken for the wish to stop: nothing stays behind that holds the port.
 *
 * @returns A signal that is aborted at the first wish, and how to stop listening.
 */
export function listenForStop(): { readonly signal: AbortSignal; readonly release: () => void } {
  const controller = new AbortController();
  const stop = () => {
    say('Stopping. Everything that was accepted is kept.');
    controller.abort();
  };
  const onSignal = (name: NodeJS.Signals) => {
    if (controller.signal.aborted) process.exit(name === 'SIGINT' ? 130 : 143);
    stop();
  };
  const parent = process.ppid;
  const watch = setInterval(() => {
    if (process.ppid !== parent && !controller.signal.aborted) stop();
  }, PARENT_CHECK_MS);
  if (process.env['npm_lifecycle_event'] === undefined) clearInterval(watch);
  process.on('SIGINT', onSignal);
  process.on('SIGTERM', onSignal);
  return {
    signal: controller.signal,
    release: () => {
      clearInterval(watch);
      process.off('SIGINT', onSignal);
      process.off('SIGTERM', onSignal);
    },
  };
}

/** Waits, but no longer than until the signal is aborted. */
export function pause(p: { ms: number; signal: AbortSignal }): Promise<void> {
  return new Promise((resolve) => {
    if (p.signal.aborted) {
      resolve();
      return;
    }
    const finish = () => {
      clearTimeout(timer);
      p.signal.removeEventListener('abort', finish);
      resolve();
    };
    const timer = setTimeout(finish, p.ms);
    p.signal.addEventListener('abort', finish);
  });
}
