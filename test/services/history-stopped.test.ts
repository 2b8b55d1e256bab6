import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { openInfluxHistory } from '../../storage/history/influx.ts';
import { PortError } from '../../storage/port-error.ts';
import { collect, portCodeOf, temporaryFolder } from '../contract/contract.ts';
import { ALWAYS, somePoints } from '../contract/history-points.ts';
import { type InfluxServer, makeBucket, startInflux } from './influx-server.ts';

const WRITES = 60;
const POINTS = 25;

describe('a database that is stopped', () => {
  const folder = temporaryFolder();
  let server: InfluxServer | undefined;
  beforeAll(async () => {
    await mkdir(join(folder, 'influx'));
    server = await startInflux(join(folder, 'influx'));
  });
  afterAll(async () => server?.stop());

  test('every write that resolved is there after it was killed in the middle and started again', async () => {
    if (server === undefined) throw new Error('the database runs');
    await makeBucket({ ...server, bucket: 'killed' });
    const settings = { url: server.url, org: server.org, token: server.token, bucket: 'killed' };
    const history = await openInfluxHistory(settings);
    const points = somePoints(WRITES * POINTS);
    let restarted: Promise<void> = Promise.resolve();
    for (let i = 0; i < WRITES; i += 1) {
      if (i === 20) restarted = server.kill().then(() => server?.start());
      for (;;) {
        try {
          await history.write(points.slice(i * POINTS, (i + 1) * POINTS));
          break;
        } catch (error) {
          if (!(error instanceof PortError) || !error.retryable) throw error;
        }
      }
    }
    await restarted;
    expect(await collect(history.points(ALWAYS))).toStrictEqual(points);
    await history.close();
  }, 180_000);

  test('without it, with a wrong token or without the bucket the error says which', async () => {
    if (server === undefined) throw new Error('the database runs');
    const settings = { url: server.url, org: server.org, token: server.token, bucket: 'killed' };
    expect(await portCodeOf(() => openInfluxHistory({ ...settings, token: 'wrong' }))).toBe('forbidden');
    expect(await portCodeOf(() => openInfluxHistory({ ...settings, bucket: 'none' }))).toBe('missing');
    const history = await openInfluxHistory(settings);
    await server.stop();
    expect(await portCodeOf(() => history.write(somePoints(3)))).toBe('unreachable');
    await history.close();
  });
});
