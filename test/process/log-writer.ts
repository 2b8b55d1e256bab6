// Writes to a log in a loop until it is killed, and says on standard output what has been acknowledged.
import { openSqliteLog } from '../../storage/log/sqlite.ts';
import { samples } from '../contract/records.ts';

const [, , path, name] = process.argv;
if (path === undefined || name === undefined) throw new Error('name the log to write to and the writer');
const log = openSqliteLog({ path });
const before = (await log.states({ group: name, keys: ['count'] })).get('count')?.value ?? 0;
for (let count = Number(before) + 1; ; count += 1) {
  // Two records and a state in one step: after any death all three say the same.
  const emit = ['left', 'right'].map((side) => samples({ unit: `${name}-${side}`, mark: count, length: 50 }));
  await log.commit({ group: name, emit, state: [{ key: 'count', value: count }] });
  process.stdout.write(`${count}\n`);
  // Lets the pipe drain, as a write to it may be asynchronous.
  await new Promise((resolve) => setImmediate(resolve));
}
