import { randomUUID } from 'node:crypto';
import { join } from 'node:path';
import { beforeAll, describe, expect, inject, test } from 'vitest';
import { ALERTS_GROUP } from '../../alerts/tasks.ts';
import { ANALYSIS_GROUP } from '../../analysis/worker.ts';
import { analyseWhatWaits } from '../../cli/keep-analysing.ts';
import { loadFiles } from '../../cli/load-files.ts';
import { readFleetText } from '../../cli/read-fleet-file.ts';
import { DEMO_END_MS } from '../../demo/calendar.ts';
import { demoFleetYaml, writeDemoLogs } from '../../demo/write-logs.ts';
import type { FleetFile } from '../../schemas/fleet-file.ts';
import { openInfluxHistory } from '../../storage/history/influx.ts';
import type { HistoryPort } from '../../storage/history/port.ts';
import { openSqliteHistory } from '../../storage/history/sqlite.ts';
import { openKafkaLog } from '../../storage/log/kafka.ts';
import type { LogPort } from '../../storage/log/port.ts';
import { openSqliteLog } from '../../storage/log/sqlite.ts';
import { PortError } from '../../storage/port-error.ts';
import { collect, temporaryFolder } from '../contract/contract.ts';
import { makeBucket } from './influx-server.ts';

/** Units whose faults begin early in the demonstration, and days enough for them to be found. */
const UNITS = ['tipper-04', 'cargo-2', 'ferry-5'];
const DAYS = 45;

describe('the demonstration on files and on services', () => {
  const folder = temporaryFolder();
  const fleet = demoFleet();
  let files: readonly string[] = [];
  beforeAll(async () => {
    ({ files } = await writeDemoLogs({ folder: join(folder, 'logs'), days: DAYS, units: UNITS }));
  }, 120_000);

  test('three workers on Kafka and InfluxDB find to the byte what one finds on files', async () => {
    const embedded = await runEmbedded();
    const grown = await runGrown();
    expect(embedded.findings.length).toBeGreaterThan(3);
    expect(embedded.tasks.length).toBeGreaterThan(1);
    expect(grown.findings).toEqual(embedded.findings);
    expect(grown.tasks).toEqual(embedded.tasks);
    expect(grown.states).toEqual(embedded.states);
    expect(grown.points).toEqual(embedded.points);
    // Nobody did all the work: each worker had the units of its own partitions.
    expect(grown.steps.filter((blocks) => blocks > 0).length).toBeGreaterThan(1);
  }, 600_000);

  async function runEmbedded() {
    const log = openSqliteLog({ path: join(folder, 'log.sqlite') });
    const history = openSqliteHistory({ path: join(folder, 'history.sqlite') });
    await load(log);
    await analyseWhatWaits({ stores: { log, history, close: async () => {} }, fleet });
    const outcome = await outcomeOf(log, history);
    await history.close();
    await log.close();
    return outcome;
  }

  async function runGrown() {
    const run = randomUUID().slice(0, 8);
    const influx = { ...inject('influx'), bucket: run };
    await makeBucket(influx);
    const open = async () => ({
      log: await openKafkaLog({ brokers: [inject('kafkaAddress')], prefix: run, partitions: 6, replicas: 1 }),
      history: await openInfluxHistory(influx),
    });
    const loader = await open();
    await load(loader.log);
    const workers = await Promise.all([open(), open(), open()]);
    const steps = await Promise.all(workers.map((worker) => work(worker, loader.log)));
    const outcome = await outcomeOf(loader.log, loader.history);
    for (const { log, history } of [loader, ...workers]) {
      await history.close();
      await log.close();
    }
    return { ...outcome, steps };
  }

  async function load(log: LogPort): Promise<void> {
    const { signal } = new AbortController();
    const { failures } = await loadFiles({ files, load: { fleet, log, nowMs: DEMO_END_MS }, signal });
    expect(failures).toBe(0);
  }

  /** Works until nothing is left for any worker; what another one took first is not this one's to do. */
  async function work(p: { log: LogPort; history: HistoryPort }, all: LogPort): Promise<number> {
    let blocks = 0;
    for (;;) {
      try {
        blocks += (await analyseWhatWaits({ stores: { ...p, close: async () => {} }, fleet })).blocks;
      } catch (error) {
        if (!(error instanceof PortError) || !error.retryable) throw error;
      }
      const left =
        (await all.lag({ group: ANALYSIS_GROUP, topics: ['samples'] })) +
        (await all.lag({ group: ALERTS_GROUP, topics: ['findings'] }));
      if (left === 0) return blocks;
    }
  }
});

/** Everything that came of it, as text, unit by unit. */
async function outcomeOf(log: LogPort, history: HistoryPort) {
  const findings: string[] = [];
  const points: string[] = [];
  for (const unit of UNITS) {
    for (const { key, value } of await collect(log.scan({ topic: 'findings', key: unit }))) {
      findings.push(JSON.stringify([key, value]));
    }
    const all = await collect(history.points({ unit, fromMs: 0, toMs: DEMO_END_MS }));
    for (const { point, indicators, channels } of all) points.push(ordered([point, indicators, channels]));
  }
  const texts = async (group: string) =>
    (await collect(log.allStates({ group }))).map(({ key, state }) => JSON.stringify([key, state.value]));
  return { findings, points, tasks: await texts(ALERTS_GROUP), states: await texts(ANALYSIS_GROUP) };
}

/** JSON with the names of every object in order: the order in which columns are read back means nothing. */
function ordered(value: unknown): string {
  return JSON.stringify(value, (_, one: unknown) =>
    typeof one === 'object' && one !== null && !Array.isArray(one)
      ? Object.fromEntries(Object.entries(one).sort(([a], [b]) => (a < b ? -1 : 1)))
      : one,
  );
}

function demoFleet(): FleetFile {
  const read = readFleetText({ text: demoFleetYaml(), file: 'the fleet of the demonstration' });
  if (!read.ok) throw new Error('the fleet of the demonstration can be read');
  return read.value;
}
