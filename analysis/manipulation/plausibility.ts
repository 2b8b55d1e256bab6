import type { SampleBlock } from '../../schemas/sample-block.ts';
import { SIGNALS, type SignalKey } from '../../schemas/signals.ts';
import type { Unit } from '../../schemas/unit.ts';
import { PLAUSIBILITY, STEADY } from '../limits.ts';
import { loadSignal } from './load-signal.ts';

/** Why a sensor is not believed. */
export type SensorDoubt = 'stuck' | 'missing' | 'reads_absolute' | 'reads_gauge';

/** What is remembered of one sensor. Plain JSON. */
export type SensorState = {
  readonly value: number | null;
  /** Running time for which the value has not moved, and how far load and speed went meanwhile. */
  readonly unchangedMs: number;
  readonly loadRange: readonly [number, number] | null;
  readonly speedRange: readonly [number, number] | null;
  /** Running time without any value. */
  readonly missingMs: number;
  /** Standstill samples whose reading sits near the barometer, or near minus the barometer. */
  readonly nearBarometer: number;
  readonly nearMinusBarometer: number;
  readonly nearZero: number;
  readonly doubt: SensorDoubt | null;
  readonly doubtSinceMs: number;
};

export type SensorStates = { readonly [K in SignalKey]?: SensorState };

/** A sensor that began to be doubted, or is believed again. */
export type SensorEvent = {
  readonly signal: SignalKey;
  readonly doubt: SensorDoubt;
  readonly state: 'raised' | 'cleared';
  readonly sinceMs: number;
  readonly atMs: number;
};

/** Signals that must move when the load or the speed does; others may stand still for good reasons. */
const MUST_MOVE: readonly SignalKey[] = [
  'boostPressure',
  'intakeManifoldTemperature',
  'exhaustTemperature',
  'turbineInletTemperature',
  'compressorOutletTemperature',
  'turbochargerSpeed',
  'turbineOutletTemperature',
  'turbineInletPressure',
];

const FRESH: SensorState = {
  value: null,
  unchangedMs: 0,
  loadRange: null,
  speedRange: null,
  missingMs: 0,
  nearBarometer: 0,
  nearMinusBarometer: 0,
  nearZero: 0,
  doubt: null,
  doubtSinceMs: 0,
};

/**
 * Watches each fitted sensor by itself and gathers what speaks against it: standing still while the engine moves,
 * missing while it runs, and for boost a reading near the barometer with the engine stopped. Out-of-range values never
 * reach this point: the intake has refused them, so a sensor that fails high or low shows here as missing.
 *
 * @param p.states - States after the blocks before.
 * @param p.block - Samples in rising time.
 * @param p.unit - Gives which sensors are fitted.
 * @param p.afterMs - Samples up to this time were seen before and are passed over.
 */
export function plausibilityStep(p: {
  readonly states: SensorStates;
  readonly block: SampleBlock;
  readonly unit: Unit;
  readonly afterMs: number;
}): SensorStates {
  const next: { [K in SignalKey]?: SensorState } = { ...p.states };
  for (const key of Object.keys(p.unit.sensors) as SignalKey[])
    next[key] = walkSensor(p.states[key] ?? FRESH, { ...p, key });
  return next;
}

/**
 * Judges what {@link plausibilityStep} has gathered.
 *
 * @param states - States of all sensors.
 * @param p.unit - Gives which sensors are fitted.
 * @param p.atMs - Time of the newest sample in the states.
 * @returns New states, and an event for every sensor that began or ceased to be doubted.
 */
export function plausibilityEvents(
  states: SensorStates,
  p: { readonly unit: Unit; readonly atMs: number },
): { readonly states: SensorStates; readonly events: readonly SensorEvent[] } {
  const next: { [K in SignalKey]?: SensorState } = { ...states };
  const events: SensorEvent[] = [];
  const loadRated = loadSignal(p.unit)?.rated ?? 1;
  for (const key of Object.keys(p.unit.sensors) as SignalKey[]) {
    const before = states[key];
    if (before === undefined) continue;
    const doubt = doubtOf(before, { key, unit: p.unit, loadRated });
    if (doubt === before.doubt) continue;
    const sinceMs = p.atMs - (doubt === 'missing' ? before.missingMs : doubt === 'stuck' ? before.unchangedMs : 0);
    next[key] = { ...before, doubt, doubtSinceMs: doubt === null ? 0 : sinceMs };
    if (before.doubt !== null)
      events.push({ signal: key, doubt: before.doubt, state: 'cleared', sinceMs: before.doubtSinceMs, atMs: p.atMs });
    if (doubt !== null) events.push({ signal: key, doubt, state: 'raised', sinceMs, atMs: p.atMs });
  }
  return { states: next, events };
}

function walkSensor(
  before: SensorState,
  p: { block: SampleBlock; unit: Unit; afterMs: number; key: SignalKey },
): SensorState {
  const { block, unit, key } = p;
  const values = block.signals[key];
  const speeds = block.signals.engineSpeed;
  const load = loadSignal(unit);
  const loads = load === undefined ? undefined : block.signals[load.key];
  const barometers = block.signals.barometricPressure;
  const running = STEADY.runningSpeedRatio * unit.engine.ratedSpeedRpm;
  const mustMove = MUST_MOVE.includes(key);
  const state: { -readonly [K in keyof SensorState]: SensorState[K] } = { ...before };
  let lastMs = p.afterMs;
  for (let i = 0; i < block.t.length; i += 1) {
    const t = block.t[i] as number;
    if (t <= p.afterMs) continue;
    const elapsed = Math.min(t - lastMs, STEADY.maxGapMs);
    lastMs = t;
    const value = values?.[i] ?? null;
    const speed = speeds?.[i] ?? null;
    if (speed === null) continue;
    if (speed < running) {
      if (key === 'boostPressure' && value !== null && speed === 0)
        countReference(state, { value, barometer: barometers?.[i] ?? null });
      continue;
    }
    if (value === null) {
      state.missingMs += elapsed;
      continue;
    }
    state.missingMs = 0;
    if (!mustMove) continue;
    if (value !== state.value) {
      state.value = value;
      state.unchangedMs = 0;
      state.loadRange = null;
      state.speedRange = null;
      continue;
    }
    state.unchangedMs += elapsed;
    state.speedRange = widen(state.speedRange, speed);
    const loadValue = loads?.[i] ?? null;
    if (loadValue !== null) state.loadRange = widen(state.loadRange, loadValue);
  }
  return state;
}

function doubtOf(state: SensorState, p: { key: SignalKey; unit: Unit; loadRated: number }): SensorDoubt | null {
  if (state.nearBarometer >= PLAUSIBILITY.referenceSamples && state.nearBarometer > 3 * state.nearZero)
    return 'reads_absolute';
  if (state.nearMinusBarometer >= PLAUSIBILITY.referenceSamples && state.nearMinusBarometer > 3 * state.nearZero)
    return 'reads_gauge';
  if (state.missingMs >= PLAUSIBILITY.missingRunningMs) return 'missing';
  const patience = SIGNALS[p.key].unit === 'degC' ? PLAUSIBILITY.stuckTemperatureMs : PLAUSIBILITY.stuckPressureMs;
  const moved =
    width(state.loadRange) >= PLAUSIBILITY.stuckLoadRangeRatio * p.loadRated ||
    width(state.speedRange) >= PLAUSIBILITY.stuckSpeedRangeRatio * p.unit.engine.ratedSpeedRpm;
  return state.unchangedMs >= patience && moved ? 'stuck' : null;
}

/** With the engine stopped a gauge sensor reads zero; one barometer more or less is a mixed-up reference. */
function countReference(
  state: { nearBarometer: number; nearMinusBarometer: number; nearZero: number },
  p: { value: number; barometer: number | null },
): void {
  const barometer = p.barometer ?? 100;
  const tolerance = PLAUSIBILITY.referenceToleranceKpa;
  const cap = 4 * PLAUSIBILITY.referenceSamples;
  const halve = () => {
    state.nearBarometer = state.nearBarometer >> 1;
    state.nearMinusBarometer = state.nearMinusBarometer >> 1;
    state.nearZero = state.nearZero >> 1;
  };
  if (Math.abs(p.value - barometer) <= tolerance) state.nearBarometer += 1;
  else if (Math.abs(p.value + barometer) <= tolerance) state.nearMinusBarometer += 1;
  else if (Math.abs(p.value) <= tolerance) state.nearZero += 1;
  // Old evidence fades, so a sensor that was put right is believed again.
  if (state.nearBarometer + state.nearMinusBarometer + state.nearZero >= cap) halve();
}

function widen(range: readonly [number, number] | null, value: number): readonly [number, number] {
  return range === null ? [value, value] : [Math.min(range[0], value), Math.max(range[1], value)];
}

function width(range: readonly [number, number] | null): number {
  return range === null ? 0 : range[1] - range[0];
}
