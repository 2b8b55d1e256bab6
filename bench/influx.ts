// How fast points go into the history in InfluxDB and come back, beside bare requests with the same bytes in the same run.
// Needs a database: CHARGEAIR_HISTORY=influx+http://HOST:PORT/BUCKET?org=ORG CHARGEAIR_HISTORY_TOKEN=... npm run bench influx
import { randomUUID } from 'node:crypto';
import { gzipSync } from 'node:zlib';
import { historyAccess } from '../cli/remote-stores.ts';
import type { HistoryPoint } from '../schemas/history-point.ts';
import { SIGNAL_KEYS } from '../schemas/signals.ts';
import { openInfluxHistory } from '../storage/history/influx.ts';
import { lineOf } from '../storage/history/influx-fields.ts';
import { parseInfluxUrl } from '../storage/history/influx-settings.ts';

const POINTS = 2000;
const POINTS_A_WRITE = 200;
const ROUNDS = 3;
const START_MS = 1_700_000_000_000;

/** A point of 18 signals, ten minutes after the one before. */
function point(unit: string, index: number): HistoryPoint {
  const toMs = START_MS + index * 600_000;
  const signals = SIGNAL_KEYS.slice(0, 18).map((key, k) => [
    key,
    { mean: 100 + ((index * (k + 3)) % 97) / 10, sd: 0.5 + (index % 7) / 10, count: 300 },
  ]);
  return {
    point: { version: 1, unit, fromMs: toMs - 299_000, toMs, signals: Object.fromEntries(signals) },
    indicators: {
      coolerEffectiveness: { value: 0.8 + (index % 9) / 100, standardUncertainty: 0.01, from: ['boostPressure'] },
    },
    channels: { boost: { observed: 120 + (index % 13), expected: 121, sd: 2.5, judgement: 'judged', cusum: 0.5 } },
  };
}

const access = historyAccess(process.env);
const place = parseInfluxUrl(access?.address ?? '');
if (access === undefined || typeof place === 'string') {
  process.stderr.write('Set CHARGEAIR_HISTORY and CHARGEAIR_HISTORY_TOKEN to a database and its token.\n');
  process.exit(2);
}
const { token } = access;
const { url, org, bucket } = place;

async function seconds(work: () => Promise<void>): Promise<number> {
  const from = performance.now();
  await work();
  return (performance.now() - from) / 1000;
}

const rate = (own: number, bare: number) =>
  `${(POINTS / own).toFixed(0)} points/s; bare requests ${(POINTS / bare).toFixed(0)} points/s; ${(own / bare).toFixed(2)} times as long`;

const history = await openInfluxHistory({ ...place, token });
for (let round = 1; round <= ROUNDS; round += 1) {
  const unit = `bench-${randomUUID().slice(0, 8)}`;
  const points = Array.from({ length: POINTS }, (_, index) => point(unit, index));
  const lines = points.map((one) => lineOf({ ...one, point: { ...one.point, unit: `${unit}-bare` } }).text);
  const write = await seconds(async () => {
    for (let at = 0; at < POINTS; at += POINTS_A_WRITE) await history.write(points.slice(at, at + POINTS_A_WRITE));
  });
  const bareWrite = await seconds(async () => {
    for (let at = 0; at < POINTS; at += POINTS_A_WRITE) {
      const target = new URLSearchParams({ org, bucket, precision: 'ms' });
      const answer = await fetch(`${url}/api/v2/write?${target}`, {
        method: 'POST',
        headers: { authorization: `Token ${token}`, 'content-encoding': 'gzip' },
        body: gzipSync(lines.slice(at, at + POINTS_A_WRITE).join('\n')),
      });
      if (!answer.ok) throw new Error(`the database answered ${answer.status}`);
    }
  });
  const range = { fromMs: START_MS, toMs: START_MS + POINTS * 600_000 };
  let count = 0;
  const read = await seconds(async () => {
    for await (const _ of history.points({ unit, ...range })) count += 1;
  });
  const bareRead = await seconds(async () => {
    const query = `from(bucket: "${bucket}") |> range(start: ${new Date(range.fromMs).toISOString()}, stop: ${new Date(range.toMs).toISOString()}) |> filter(fn: (r) => r.unit == "${unit}-bare")`;
    const answer = await fetch(`${url}/api/v2/query?${new URLSearchParams({ org })}`, {
      method: 'POST',
      headers: { authorization: `Token ${token}`, 'content-type': 'application/vnd.flux', 'accept-encoding': 'gzip' },
      body: query,
    });
    await answer.text();
  });
  if (count !== POINTS) throw new Error(`${count} of ${POINTS} points came back`);
  const thin = await seconds(async () => {
    await history.series({ unit, of: { kind: 'channel', name: 'boost' }, ...range, buckets: 300 });
  });
  process.stdout.write(
    `round ${round}, write: ${rate(write, bareWrite)}\nround ${round}, read: ${rate(read, bareRead)}\nround ${round}, a series of ${POINTS} points in 300 columns: ${(thin * 1000).toFixed(0)} ms\n`,
  );
}
await history.close();
