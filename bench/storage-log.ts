// How fast a million rows of 18 columns go through the log: committed block by block with a sync each, then polled back.
import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { MAX_BLOCK_SAMPLES, type SampleBlock } from '../schemas/sample-block.ts';
import { SIGNAL_KEYS } from '../schemas/signals.ts';
import { openSqliteLog } from '../storage/log/sqlite.ts';

const ROWS = 1_000_000;
const COLUMNS = 18;

/** A block whose values move in steps of a tenth, as loggers write them. */
function block(index: number): SampleBlock {
  const t = Array.from(
    { length: MAX_BLOCK_SAMPLES },
    (_, i) => 1_700_000_000_000 + (index * MAX_BLOCK_SAMPLES + i) * 1000,
  );
  const columns = SIGNAL_KEYS.slice(0, COLUMNS).map((key, k) => [
    key,
    t.map((_, i) => (1000 + (((i * (k + 3) + index) * 7919) % 97)) / 10),
  ]);
  return { version: 1, unit: 'truck-01', source: 'bench', t, signals: Object.fromEntries(columns) };
}

const folder = mkdtempSync(join(tmpdir(), 'chargeair-bench-'));
try {
  const path = join(folder, 'log.sqlite');
  const log = openSqliteLog({ path });
  const values = ROWS * COLUMNS;
  let seconds = 0;
  const timed = async <T>(work: () => Promise<T>): Promise<T> => {
    const from = performance.now();
    const result = await work();
    seconds += (performance.now() - from) / 1000;
    return result;
  };
  const say = (what: string) => {
    process.stdout.write(`${what}: ${seconds.toFixed(2)} s, ${((seconds * 1e9) / values).toFixed(1)} ns a value\n`);
    seconds = 0;
  };
  for (let i = 0; i < ROWS / MAX_BLOCK_SAMPLES; i += 1) {
    const value = block(i);
    await timed(() => log.commit({ group: 'ingest', emit: [{ topic: 'samples', key: value.unit, value }], state: [] }));
  }
  say('commit of 1,000,000 rows');
  const state = { numbers: Array.from({ length: 2500 }, (_, i) => Math.sqrt(i)) };
  for (;;) {
    const batch = await timed(() => log.poll({ group: 'analysis', topics: ['samples'], max: 16 }));
    if (batch === undefined) break;
    await timed(() =>
      log.commit({ group: 'analysis', emit: [], state: [{ key: 'truck-01', value: state }], position: batch.position }),
    );
  }
  say('poll of the same, 16 blocks a batch, with a state of about 45 kB saved after each');
  await log.close();
  process.stdout.write(`file: ${(statSync(path).size / 1e6).toFixed(1)} MB\n`);
} finally {
  rmSync(folder, { recursive: true, force: true });
}
