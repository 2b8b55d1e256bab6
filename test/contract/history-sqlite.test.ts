import { join } from 'node:path';
import { openSqliteHistory } from '../../storage/history/sqlite.ts';
import { temporaryFolder } from './contract.ts';
import { describeHistory } from './history-contract.ts';

describeHistory('SQLite', () => {
  const folder = temporaryFolder();
  return async (name) => openSqliteHistory({ path: join(folder, name, 'history.sqlite') });
});
