import { join } from 'node:path';
import { openSqliteLog } from '../../storage/log/sqlite.ts';
import { temporaryFolder } from './contract.ts';
import { describeLog } from './log-contract.ts';

describeLog('SQLite', () => {
  const folder = temporaryFolder();
  return async (name) => openSqliteLog({ path: join(folder, name, 'log.sqlite') });
});
