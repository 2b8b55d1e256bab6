import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { runAlertsOnce } from '../../alerts/worker.ts';
import { runAnalysisOnce } from '../../analysis/worker.ts';
import { simulatedBlocks } from '../../bench/simulated-fleet.ts';
import { readFleetText } from '../../cli/read-fleet-file.ts';
import { demoFleetYaml } from '../../demo/fleet-yaml.ts';
import { DEMO_SEED, demoUnit } from '../../demo/scenario.ts';
import { assert } from '../../schemas/assert.ts';
import { openSqliteHistory } from '../../storage/history/sqlite.ts';
import { openSqliteLog } from '../../storage/log/sqlite.ts';

/**
 * A folder with the fleet file of the demonstration and the analysed samples of one of its units, in the folder that
 * commands use by default.
 *
 * @param p.cwd - Where `fleet.yaml` and `.chargeair` are put.
 * @param p.unit - Unit of the scenario.
 * @param p.days - From its first day.
 */
export async function prepareUnit(p: { cwd: string; unit: string; days: number }): Promise<void> {
  const text = demoFleetYaml();
  writeFileSync(join(p.cwd, 'fleet.yaml'), text);
  const checked = readFleetText({ text, file: 'fleet.yaml' });
  assert(checked.ok, 'the fleet of the demonstration holds');
  const fleet = checked.value;
  const log = openSqliteLog({ path: join(p.cwd, '.chargeair', 'log.sqlite') });
  const history = openSqliteHistory({ path: join(p.cwd, '.chargeair', 'history.sqlite') });
  for (const value of simulatedBlocks(demoUnit(p.unit), { days: p.days, seed: DEMO_SEED }))
    await log.commit({ group: 'test', emit: [{ topic: 'samples', key: p.unit, value }], state: [] });
  while ((await runAnalysisOnce({ log, history, fleet, max: 64 })).batches > 0);
  while ((await runAlertsOnce({ log, fleet, max: 64 })).findings > 0);
  await log.close();
  await history.close();
}
