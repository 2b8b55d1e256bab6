// The only file that picks adapters: another store is wired in here, and nowhere else.
import { existsSync } from 'node:fs';
import { join } from 'node:path';
import { type InfluxSettings, parseInfluxUrl } from '../storage/history/influx-settings.ts';
import type { HistoryPort } from '../storage/history/port.ts';
import { openSqliteHistory } from '../storage/history/sqlite.ts';
import { type KafkaSettings, parseKafkaUrl } from '../storage/log/kafka/settings.ts';
import type { LogPort } from '../storage/log/port.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';
import { CommandFault } from './command-fault.ts';
import { say } from './output.ts';
import { historyAccess, logAccess, STORE_VARIABLES } from './remote-stores.ts';

/** The two stores behind their ports. */
export type Stores = {
  readonly log: LogPort;
  readonly history: HistoryPort;
  /** Closes both. */
  close(): Promise<void>;
};

/** What a command does with the stores: only look, change what is there, or begin them where there is nothing yet. */
export type Access = 'read' | 'change' | 'begin';

async function openStores(p: { folder: string; access: Access }): Promise<Stores> {
  const log = await openLog(p);
  try {
    const history = await openHistory(p);
    return {
      log,
      history,
      close: async () => {
        await history.close();
        await log.close();
      },
    };
  } catch (error) {
    await log.close();
    throw error;
  }
}

/**
 * Opens the stores of a data folder, or those that the environment names, hands them to `use`, and closes them whatever happens.
 *
 * @param p.access - Only `begin` makes a folder, so that a mistyped name is noticed rather than filled.
 * @throws CommandFault when there is nothing to read or change; PortError when the stores cannot be used.
 */
export async function withStores<T>(
  p: { folder: string; access: Access },
  use: (stores: Stores) => Promise<T>,
): Promise<T> {
  const stores = await openStores(p);
  try {
    return await use(stores);
  } finally {
    await stores.close();
  }
}

/** The log alone, for commands that need no history: they then work whatever has become of it. */
export async function withLog<T>(p: { folder: string; access: Access }, use: (log: LogPort) => Promise<T>): Promise<T> {
  const log = await openLog(p);
  try {
    return await use(log);
  } finally {
    await log.close();
  }
}

async function openLog(p: { folder: string; access: Access }): Promise<LogPort> {
  const settings = chosenLog();
  if (settings !== undefined) {
    // Loaded here, since most commands work on files.
    const { openKafkaLog } = await import('../storage/log/kafka.ts');
    return openKafkaLog({ ...settings, isNew: p.access === 'begin' ? 'made' : 'refused', onNotice: say });
  }
  const path = join(p.folder, 'log.sqlite');
  if (p.access !== 'begin' && !existsSync(path)) {
    throw new CommandFault({
      message: `${p.folder} holds no data yet; name the right folder with --data, or load files first with: chargeair load FILE`,
    });
  }
  return openSqliteLog({ path, readOnly: p.access === 'read' });
}

async function openHistory(p: { folder: string; access: Access }): Promise<HistoryPort> {
  const settings = chosenHistory();
  if (settings !== undefined) {
    const { openInfluxHistory } = await import('../storage/history/influx.ts');
    return openInfluxHistory(settings);
  }
  return openSqliteHistory({ path: join(p.folder, 'history.sqlite'), readOnly: p.access === 'read' });
}

/** The broker that the environment names; `undefined` when the log is a file. @throws CommandFault */
function chosenLog(): KafkaSettings | undefined {
  const access = logAccess(process.env);
  if (access === undefined) return undefined;
  const settings = parseKafkaUrl(access.address);
  if (typeof settings === 'string') throw new CommandFault({ message: `${STORE_VARIABLES.log}: ${settings}` });
  return {
    ...settings,
    ...(access.authority === undefined ? {} : { tls: { ca: access.authority } }),
    ...(access.sasl === undefined ? {} : { sasl: access.sasl }),
  };
}

/** The database that the environment names; `undefined` when the history is a file. @throws CommandFault */
function chosenHistory(): InfluxSettings | undefined {
  const access = historyAccess(process.env);
  if (access === undefined) return undefined;
  const settings = parseInfluxUrl(access.address);
  if (typeof settings === 'string') throw new CommandFault({ message: `${STORE_VARIABLES.history}: ${settings}` });
  return { ...settings, token: access.token };
}
