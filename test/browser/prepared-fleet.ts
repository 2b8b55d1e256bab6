import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import type { FastifyInstance } from 'fastify';
import { EXAMPLE_FLEET, exampleFinding, HOUR_MS, START_MS } from '../../alerts/example-for-tests.ts';
import { createApp } from '../../alerts/http/app.ts';
import { listTasks } from '../../alerts/tasks.ts';
import { runAlertsOnce } from '../../alerts/worker.ts';
import type { Finding } from '../../schemas/finding.ts';
import type { HistoryPoint } from '../../schemas/history-point.ts';
import type { HistoryPort } from '../../storage/history/port.ts';
import { openSqliteHistory } from '../../storage/history/sqlite.ts';
import type { LogPort } from '../../storage/log/port.ts';
import { openSqliteLog } from '../../storage/log/sqlite.ts';

/** What a browser test works on. */
export type PreparedFleet = {
  readonly origin: string;
  readonly log: LogPort;
  readonly app: FastifyInstance;
  /** Writes more findings and lets the task book take them. */
  report(findings: readonly Finding[]): Promise<void>;
  /** Id of the task of a unit. */
  taskOf(unit: string): Promise<string>;
  close(): Promise<void>;
};

/** Now, for the server: 17 days after the first data. */
export const NOW_MS = START_MS + 17 * 24 * HOUR_MS;

/** A repeatable stand-in for chance: Park and Miller's minimal standard generator. */
function noise(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state * 48271) % 2147483647;
    return state / 2147483647 - 0.5;
  };
}

type Shape = {
  readonly unit: string;
  readonly channel: 'boost' | 'coolerApproach' | 'oilPressure';
  readonly expected: number;
  readonly sd: number;
  readonly onsetDay: number;
  /** Departure a day after the onset. */
  readonly slope: number;
  readonly seed: number;
  readonly lastDay: number;
};

const SHAPES: readonly Shape[] = [
  { unit: 'truck-07', channel: 'boost', expected: 152, sd: 3, onsetDay: 11, slope: -3.6, seed: 3, lastDay: 17 },
  { unit: 'truck-08', channel: 'boost', expected: 149, sd: 3, onsetDay: 99, slope: 0, seed: 5, lastDay: 17 },
  { unit: 'truck-09', channel: 'boost', expected: 150, sd: 3, onsetDay: 99, slope: 0, seed: 7, lastDay: 5 },
  {
    unit: 'tug-port-engine',
    channel: 'coolerApproach',
    expected: 14,
    sd: 0.9,
    onsetDay: 6,
    slope: 0.55,
    seed: 11,
    lastDay: 17,
  },
  {
    unit: 'quay-generator',
    channel: 'oilPressure',
    expected: 420,
    sd: 9,
    onsetDay: 15,
    slope: -34,
    seed: 13,
    lastDay: 17,
  },
];

function pointsOf(shape: Shape): HistoryPoint[] {
  const chance = noise(shape.seed);
  const points: HistoryPoint[] = [];
  for (let hour = 0; hour < shape.lastDay * 24; hour += 1) {
    // Idle at night and on Sundays, so the charts have the gaps that real ones have.
    const day = Math.floor(hour / 24);
    if (hour % 24 > 12 || day % 7 === 6) continue;
    const toMs = START_MS + hour * HOUR_MS + Math.round((chance() + 0.5) * 1_200_000);
    const expected = shape.expected * (1 + 0.05 * Math.sin(hour / 3));
    const drift = hour / 24 > shape.onsetDay ? shape.slope * (hour / 24 - shape.onsetDay) : 0;
    const observed = expected + drift + (chance() + chance() + chance()) * 1.8 * shape.sd;
    points.push({
      point: {
        version: 1,
        unit: shape.unit,
        fromMs: toMs - 90_000,
        toMs,
        signals: { engineSpeed: { mean: 1400, sd: 5, count: 90 } },
      },
      indicators: {},
      channels: { [shape.channel]: { observed, expected, sd: shape.sd, judgement: 'judged', cusum: 0 } },
    });
  }
  return points;
}

function findings(): Finding[] {
  const boost = START_MS + 11 * 24 * HOUR_MS;
  const cooler = START_MS + 6 * 24 * HOUR_MS;
  const oil = START_MS + 15 * 24 * HOUR_MS;
  return [
    exampleFinding({ sinceMs: boost, atMs: boost + 40 * HOUR_MS }),
    exampleFinding({ sinceMs: boost, atMs: boost + 40 * HOUR_MS, updatedAtMs: boost + 90 * HOUR_MS }),
    exampleFinding({
      unit: 'tug-port-engine',
      kind: 'charge_air_temperature_rise',
      subject: 'coolerApproach',
      severity: 'low',
      sinceMs: cooler,
      atMs: cooler + 60 * HOUR_MS,
      evidence: {
        observed: 19.4,
        expected: 14.1,
        departure: 3.1,
        unit: 'K',
        points: 61,
        pattern: { coolerApproach: 3.4 },
        sentence: 'Charge air stands 5.3 K further above the seawater than expected, over 61 operating points.',
      },
      causes: [
        { cause: 'cac_coolant_side_fouled', probability: 0.46 },
        { cause: 'coolant_flow_low', probability: 0.28 },
        { cause: 'cac_air_side_fouled', probability: 0.17 },
        { cause: 'unknown', probability: 0.09 },
      ],
      separatingChecks: ['water temperature rise through the cooler', 'pressure drop on the charge-air side'],
      limit: {
        value: 24,
        unit: 'K',
        source: 'engine manual, data sheet 2',
        exceeded: false,
        hoursToLimit: { estimate: 420, lower: 260, upper: 700, confidence: 0.9 },
      },
    }),
    exampleFinding({
      unit: 'quay-generator',
      kind: 'low_oil_pressure',
      detector: 'hard_limit',
      subject: 'oilPressure',
      severity: 'high',
      sinceMs: oil,
      atMs: oil + 8 * HOUR_MS,
      evidence: {
        observed: 352,
        expected: 421,
        departure: -52,
        unit: 'kPa',
        points: 14,
        pattern: { oilPressure: -7.1 },
        sentence:
          'Oil pressure at rated speed is 52 kPa below expectation at the same oil temperature and falls further.',
      },
      causes: [
        { cause: 'oil_supply_low', probability: 0.71 },
        { cause: 'sensor_oil_pressure_drift', probability: 0.22 },
        { cause: 'unknown', probability: 0.07 },
      ],
      separatingChecks: ['reference gauge at the gallery beside the sensor'],
      limit: {
        value: 340,
        unit: 'kPa',
        source: 'engine manual',
        exceeded: false,
        hoursToLimit: { estimate: 30, lower: 18, upper: 55, confidence: 0.9 },
      },
      troubleCodes: ['SPN 100 FMI 18'],
    }),
  ];
}

/** A real log and history in a folder of their own, filled, with the server listening on loopback. */
export async function prepareFleet(): Promise<PreparedFleet> {
  const folder = mkdtempSync(join(tmpdir(), 'browser-test-'));
  const log = openSqliteLog({ path: join(folder, 'log.sqlite') });
  const history: HistoryPort = openSqliteHistory({ path: join(folder, 'history.sqlite') });
  for (const shape of SHAPES) await history.write(pointsOf(shape));
  let nowMs = NOW_MS;
  const report = async (list: readonly Finding[]) => {
    await log.commit({
      group: 'analysis',
      emit: list.map((value) => ({ topic: 'findings', key: value.unit, value })),
      state: [],
    });
    while ((await runAlertsOnce({ log, fleet: EXAMPLE_FLEET, max: 100 })).findings > 0);
  };
  await report(findings());
  // The clock moves on by a second a look, so that what people do has an order.
  const app = createApp({
    log,
    history,
    fleet: EXAMPLE_FLEET,
    clock: () => {
      nowMs += 1000;
      return nowMs;
    },
  });
  const origin = await app.listen({ host: '127.0.0.1', port: 0 });
  return {
    origin,
    log,
    app,
    report,
    async taskOf(unit) {
      const [task] = await listTasks({ log, filter: { units: [unit] } });
      if (task === undefined) throw new Error(`no task of ${unit}`);
      return task.id;
    },
    async close() {
      await app.close();
      await log.close();
      await history.close();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
