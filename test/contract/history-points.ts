import type { HistoryPoint } from '../../schemas/history-point.ts';
import type { HistoryPort } from '../../storage/history/port.ts';
import type { createClaims } from './contract.ts';

/** Opens a history; the same `name` opens the same history again. */
export type OpenHistory = (name: string) => Promise<HistoryPort>;

export const DAY_MS = 86_400_000;
export const START_MS = 1_700_000_000_000;
export const UNIT = 'ship-1-port';

/** Declares one test of the contract. */
export type Claim = ReturnType<typeof createClaims>['claim'];

/**
 * The `index`-th of a run of points, ten minutes apart. Its numbers have at most two significant digits where an
 * adapter may round to two, and four elsewhere, so that they must come back to the last bit.
 */
export function somePoint(index: number, unit = UNIT): HistoryPoint {
  const toMs = START_MS + index * 600_000;
  const sure = index % 3 !== 0;
  return {
    point: {
      version: 1,
      unit,
      fromMs: toMs - 299_500,
      toMs,
      signals: {
        engineSpeed: { mean: 1200 + (index % 40), sd: 8.5, count: 300 },
        boostPressure: { mean: 101.5 + (index % 17) / 2, sd: 0, count: 299 },
        ...(index % 4 === 0 ? {} : { seaWaterTemperature: { mean: -1.25, sd: 0.12, count: 12 } }),
        engineHours: { mean: 123_456.75 + index / 4, sd: 0.02, count: 300 },
      },
    },
    indicators: {
      coolerEffectiveness: sure
        ? { value: 0.8125, standardUncertainty: 0.011, from: ['intakeManifoldTemperature', 'a "guess" ≈ 船'] }
        : { absent: 'no sensor — ["a"]' },
      airMassFlow: { value: 0.0625, standardUncertainty: 1e-4, from: [] },
    },
    channels: {
      boost: {
        observed: 101.5 + (index % 17) / 2,
        judgement: sure ? 'judged' : 'learning',
        ...(sure ? { expected: 110 + (index % 5) / 2, sd: 2.25, cusum: 0.5 - (index % 7) / 2 } : {}),
      },
      coolerEffectiveness: { observed: 0.8125, judgement: 'excluded' },
    },
  };
}

/** The first `count` of them. */
export function somePoints(count: number, unit = UNIT): HistoryPoint[] {
  return Array.from({ length: count }, (_, index) => somePoint(index, unit));
}

/** A range that holds them all. */
export const ALWAYS = { unit: UNIT, fromMs: START_MS - DAY_MS, toMs: START_MS + 1000 * DAY_MS };
