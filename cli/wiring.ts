import { existsSync } from 'node:fs';
import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import type { HistoryPort } from '../storage/history/port.ts';
import { openSqliteHistory } from '../storage/history/sqlite.ts';
import type { LogPort } from '../storage/log/port.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { CommandFault } from './command-fault.ts';
import { fileErrorSentence } from './file-error.ts';

/** The two stores behind their ports. */
export type Stores = {
  readonly log: LogPort;
  readonly history: HistoryPort;
  /** Closes both. */
  close(): Promise<void>;
};

/**
 * Opens the stores of a data folder: the only place that picks adapters.
 *
 * @param p.folder - Made when it is missing, unless `readOnly`.
 * @param p.readOnly - For commands that only look: they never wait for a writer, and never make a folder by mistake.
 * @throws CommandFault when the folder cannot be used, or holds nothing to read.
 */
export async function openStores(p: { folder: string; readOnly: boolean }): Promise<Stores> {
  const logPath = join(p.folder, 'log.sqlite');
  const historyPath = join(p.folder, 'history.sqlite');
  if (p.readOnly && !existsSync(logPath)) {
    throw new CommandFault({
      message: `${p.folder} holds no data yet; name the right folder with --data, or load files first with: chargeair load FILE`,
    });
  }
  try {
    if (!p.readOnly) await mkdir(p.folder, { recursive: true });
  } catch (error) {
    throw new CommandFault({ message: `${p.folder} ${fileErrorSentence(error)}` });
  }
  const log = await openSqliteLog({ path: logPath, readOnly: p.readOnly });
  const history = await openSqliteHistory({ path: historyPath, readOnly: p.readOnly });
  return {
    log,
    history,
    close: async () => {
      await history.close();
      await log.close();
    },
  };
}

/** Opens the stores, hands them to `use`, and closes them whatever happens. */
export async function withStores<T>(
  p: { folder: string; readOnly: boolean },
  use: (stores: Stores) => Promise<T>,
): Promise<T> {
  const stores = await openStores(p);
  try {
    return await use(stores);
  } finally {
    await stores.close();
  }
}
