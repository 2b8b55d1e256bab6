import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openKafkaLog } from '../../storage/log/kafka.ts';
import { collect, portCodeOf, temporaryFolder } from '../contract/contract.ts';
import { GROUP, step } from '../contract/log-steps.ts';
import { finding } from '../contract/records.ts';
import { type Broker, startKafka } from './kafka-broker.ts';

const STEPS = 120;
const KILL_AT = [30, 75];

describe('a broker that is killed', () => {
  const folder = temporaryFolder();
  let broker: Broker | undefined;
  beforeAll(async () => {
    await mkdir(join(folder, 'kafka'));
    broker = await startKafka(join(folder, 'kafka'));
  });
  afterAll(async () => broker?.stop());

  test('every step that was confirmed is there once, and none twice, though steps are repeated', async () => {
    const address = broker?.address ?? '';
    const log = await openKafkaLog({ brokers: [address], prefix: 'killed', partitions: 2, replicas: 1 });
    let restarted: Promise<void> = Promise.resolve();
    let failures = 0;
    for (let i = 0; i < STEPS; i += 1) {
      if (KILL_AT.includes(i)) {
        // Not waited for: the next steps meet a broker that is dying, dead, or not up yet.
        restarted = broker?.kill().then(() => broker?.start()) ?? restarted;
      }
      for (;;) {
        const code = await portCodeOf(() =>
          log.commit(
            step({
              emit: [finding({ unit: 'u', id: `f${i}` })],
              state: [{ key: 'u', value: i }],
              expect: [{ key: 'u', version: i }],
            }),
          ),
        );
        // Changed by nobody but this step itself, whose first try had gone well after all.
        if (code === undefined || code === 'state_changed') break;
        expect(['unreachable', 'outcome_unknown', 'fenced', 'busy', 'io']).toContain(code);
        failures += 1;
        await new Promise((resolve) => setTimeout(resolve, 200));
      }
    }
    await restarted;
    const ids = (await collect(log.scan({ topic: 'findings' }))).map(({ value }) => value.id);
    expect(ids).toEqual(Array.from({ length: STEPS }, (_, i) => `f${i}`));
    expect((await log.states({ group: GROUP, keys: ['u'] })).get('u')).toEqual({ value: STEPS - 1, version: STEPS });
    console.log(`${failures} steps were repeated`);
    await log.close();
  }, 240_000);
});
