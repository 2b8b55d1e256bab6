import type { FindingKind } from '../../schemas/finding.ts';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import type { Unit } from '../../schemas/unit.ts';
import { HARD_LIMIT, STEADY } from '../limits.ts';
import { firstFitted } from '../manipulation/air-and-sink.ts';

/** What is remembered of one hard limit: since when it is passed, whether it is announced, since when it is back. */
export type LimitState = {
  readonly beyondSinceMs: number | null;
  readonly beyondCount: number;
  readonly active: boolean;
  readonly sinceMs: number;
  readonly backSinceMs: number | null;
  /** Worst value of this excursion, and the limit that held at that moment. */
  readonly worst: number;
  readonly worstLimit: number;
  readonly lastMs: number;
  readonly turningSinceMs: number | null;
};

/** State of every limit of a unit, by kind. */
export type LimitStates = { readonly [K in FindingKind]?: LimitState };

/** A limit that was passed for its on-delay, or that is back for its off-delay. */
export type LimitEvent = {
  readonly kind: FindingKind;
  readonly signal: SignalKey;
  readonly state: 'raised' | 'cleared';
  readonly sinceMs: number;
  readonly atMs: number;
  readonly worst: number;
  readonly limit: number;
};

type LimitRule = {
  readonly kind: FindingKind;
  readonly signal: SignalKey;
  readonly onDelayMs: number;
  readonly deadBandRatio: number;
  /** +1 where too high is bad, -1 where too low is. */
  readonly side: 1 | -1;
  readonly limitAt: (speedRpm: number) => number;
};

/**
 * Watches the engine maker's limits sample by sample, with on-delay, off-delay and dead band (terms of IEC 62682).
 * Only limits that the fleet file states are watched; none is ever assumed.
 *
 * @param states - States after the blocks before.
 * @param block - Samples in rising time.
 * @param unit - Gives the limits and their signals.
 * @returns New states, and an event for each limit raised or cleared in this block.
 */
export function limitStep(
  states: LimitStates,
  block: SampleBlock,
  unit: Unit,
): { readonly states: LimitStates; readonly events: readonly LimitEvent[] } {
  const next: { [K in FindingKind]?: LimitState } = { ...states };
  const events: LimitEvent[] = [];
  for (const rule of limitRules(unit)) {
    const walked = walkLimit(states[rule.kind] ?? initialLimitState(), { rule, block, unit });
    next[rule.kind] = walked.state;
    events.push(...walked.events);
  }
  return { states: next, events };
}

function limitRules(unit: Unit): readonly LimitRule[] {
  const { limits } = unit;
  const rules: LimitRule[] = [];
  const add = (kind: FindingKind, keys: readonly SignalKey[], rest: Omit<LimitRule, 'kind' | 'signal'>) => {
    const signal = firstFitted(unit, keys);
    if (signal !== undefined) rules.push({ kind, signal, ...rest });
  };
  const pressure = { onDelayMs: HARD_LIMIT.onDelayPressureMs, deadBandRatio: HARD_LIMIT.deadBandPressureRatio };
  const temperature = {
    onDelayMs: HARD_LIMIT.onDelayTemperatureMs,
    deadBandRatio: HARD_LIMIT.deadBandTemperatureRatio,
  };
  const { boostMaxKpa, chargeAirTemperatureMaxC, exhaustTemperatureMaxC, filterPressureDropMaxKpa, oilPressureMin } =
    limits;
  if (boostMaxKpa !== undefined)
    add('overboost', ['boostPressure'], { ...pressure, side: 1, limitAt: () => boostMaxKpa });
  if (chargeAirTemperatureMaxC !== undefined) {
    add('charge_air_temperature_rise', ['intakeManifoldTemperature', 'chargeAirCoolerOutletTemperature'], {
      ...temperature,
      side: 1,
      limitAt: () => chargeAirTemperatureMaxC,
    });
  }
  if (exhaustTemperatureMaxC !== undefined) {
    add('exhaust_temperature_high', ['exhaustTemperature', 'turbineInletTemperature'], {
      ...temperature,
      side: 1,
      limitAt: () => exhaustTemperatureMaxC,
    });
  }
  if (filterPressureDropMaxKpa !== undefined) {
    add('intake_restriction', ['airFilterDifferentialPressure'], {
      ...temperature,
      side: 1,
      limitAt: () => filterPressureDropMaxKpa,
    });
  }
  if (oilPressureMin !== undefined) {
    add('low_oil_pressure', ['oilPressure', 'turbochargerOilPressure'], {
      ...pressure,
      side: -1,
      limitAt: (speed) => oilMinimumKpa(oilPressureMin, speed),
    });
  }
  return rules;
}

/**
 * Lowest oil pressure at a speed, read off straight lines between the points of the fleet file and held beyond its ends.
 *
 * @param curve - At least one point; the fleet file's order does not matter.
 * @param speedRpm - Engine speed.
 * @returns kPa gauge.
 */
export function oilMinimumKpa(
  curve: readonly { readonly speedRpm: number; readonly pressureKpa: number }[],
  speedRpm: number,
): number {
  const sorted = [...curve].sort((a, b) => a.speedRpm - b.speedRpm);
  let below = sorted[0];
  for (const point of sorted) {
    if (point.speedRpm >= speedRpm) {
      if (below === undefined || point === below || point.speedRpm === below.speedRpm) return point.pressureKpa;
      const share = (speedRpm - below.speedRpm) / (point.speedRpm - below.speedRpm);
      return below.pressureKpa + share * (point.pressureKpa - below.pressureKpa);
    }
    below = point;
  }
  return below?.pressureKpa ?? Number.NEGATIVE_INFINITY;
}

function initialLimitState(): LimitState {
  return {
    beyondSinceMs: null,
    beyondCount: 0,
    active: false,
    sinceMs: 0,
    backSinceMs: null,
    worst: 0,
    worstLimit: 0,
    lastMs: Number.MIN_SAFE_INTEGER,
    turningSinceMs: null,
  };
}

function walkLimit(
  initial: LimitState,
  p: { rule: LimitRule; block: SampleBlock; unit: Unit },
): { state: LimitState; events: LimitEvent[] } {
  const { rule, block, unit } = p;
  const values = block.signals[rule.signal];
  const speeds = block.signals.engineSpeed;
  const events: LimitEvent[] = [];
  const state: { -readonly [K in keyof LimitState]: LimitState[K] } = { ...initial };
  if (values === undefined) return { state, events };
  const running = STEADY.runningSpeedRatio * unit.engine.ratedSpeedRpm;
  let speed: number | null = null;
  for (let i = 0; i < block.t.length; i += 1) {
    const t = block.t[i] as number;
    if (t <= state.lastMs) continue;
    state.lastMs = t;
    speed = speeds?.[i] ?? speed;
    if (speed === null || speed < running) {
      state.turningSinceMs = null;
      state.beyondSinceMs = null;
      continue;
    }
    state.turningSinceMs ??= t;
    const value = values[i];
    if (value === null || value === undefined || t - state.turningSinceMs < HARD_LIMIT.afterStartMs) continue;
    const limit = rule.limitAt(speed);
    const excess = rule.side * (value - limit);
    if (excess > 0) {
      if (state.beyondSinceMs === null) [state.beyondSinceMs, state.beyondCount] = [t, 0];
      if (!state.active && state.beyondCount === 0) [state.worst, state.worstLimit] = [value, limit];
      state.beyondCount += 1;
      state.backSinceMs = null;
      if (excess > rule.side * (state.worst - state.worstLimit)) [state.worst, state.worstLimit] = [value, limit];
      // Two samples at least: a logger that writes once a minute must not raise an alarm on one reading.
      if (!state.active && state.beyondCount >= 2 && t - state.beyondSinceMs >= rule.onDelayMs) {
        [state.active, state.sinceMs] = [true, state.beyondSinceMs];
        events.push({
          kind: rule.kind,
          signal: rule.signal,
          state: 'raised',
          sinceMs: state.sinceMs,
          atMs: t,
          worst: state.worst,
          limit: state.worstLimit,
        });
      }
    } else if (-excess > rule.deadBandRatio * Math.abs(limit)) {
      state.beyondSinceMs = null;
      state.beyondCount = 0;
      if (!state.active) continue;
      state.backSinceMs ??= t;
      if (t - state.backSinceMs >= HARD_LIMIT.offDelayMs) {
        events.push({
          kind: rule.kind,
          signal: rule.signal,
          state: 'cleared',
          sinceMs: state.sinceMs,
          atMs: t,
          worst: state.worst,
          limit: state.worstLimit,
        });
        [state.active, state.backSinceMs] = [false, null];
      }
    } else if (!state.active) {
      state.beyondSinceMs = null;
      state.beyondCount = 0;
    }
  }
  return { state, events };
}
