import type { OperatingPoint } from '../../schemas/operating-point.ts';
import type { SampleBlock } from '../../schemas/sample-block.ts';
import { isSignalKey, type SignalKey } from '../../schemas/signals.ts';
import { DUTIES, type Unit } from '../../schemas/unit.ts';
import { STEADY } from '../limits.ts';
import { type LoadSignal, loadSignal } from './load-signal.ts';
import { addToSums, type SignalSums, summarise } from './signal-sums.ts';

/** What is remembered between blocks: the run of steady samples under way and the window being filled. Plain JSON. */
export type SteadyState = {
  /** Time of the newest sample seen; older ones are ignored, so a replay repeats nothing. */
  readonly lastMs: number;
  readonly runningSinceMs: number | null;
  readonly run: {
    readonly sinceMs: number;
    readonly count: number;
    readonly speed: number;
    readonly load: number;
    /** From when the next window may begin: settled, and far enough from the last point. */
    readonly nextMs: number;
  } | null;
  readonly window: { readonly fromMs: number; readonly sums: { readonly [K in SignalKey]?: SignalSums } } | null;
  /** Newest speed and load with their times, for logs in which signals come at different moments. */
  readonly held: { readonly speed: number; readonly speedMs: number; readonly load: number; readonly loadMs: number };
  /** Running time seen so far, and the part of it that went into points: the share of usable data. */
  readonly runningMs: number;
  readonly usedMs: number;
};

/** The state before the first sample. */
export function initialSteadyState(): SteadyState {
  const never = -STEADY.holdMs - 1;
  return {
    lastMs: never,
    runningSinceMs: null,
    run: null,
    window: null,
    held: { speed: 0, speedMs: never, load: 0, loadMs: never },
    runningMs: 0,
    usedMs: 0,
  };
}

/** A point with the running time of the unit at its end, which orders everything that counts in running hours. */
export type SteadyPoint = { readonly point: OperatingPoint; readonly runningMs: number };

/**
 * Finds the stretches in which speed and load stood still and sums each up as an operating point.
 *
 * A run begins with a sample and goes on while speed and load stay near the mean of the run. Once it has lasted the
 * settling time of the unit's duty (thermal lags of manifold and cooler), windows of the duty's length follow one
 * another without overlap; each complete window is a point. Engines that were started less than the warm-up time ago
 * give none.
 *
 * @param state - State after the blocks before.
 * @param block - Samples in rising time; those not later than the newest one seen are passed over.
 * @param unit - Gives the duty, rated values and the signal that stands for load.
 * @returns The new state and the points completed by this block, oldest first.
 */
export function steadyStep(
  state: SteadyState,
  block: SampleBlock,
  unit: Unit,
): { readonly state: SteadyState; readonly points: readonly SteadyPoint[] } {
  const duty = DUTIES[unit.duty];
  const load = loadSignal(unit);
  const tracker = createTracker(state, unit, load);
  const speeds = block.signals.engineSpeed;
  const loads = load === undefined ? undefined : block.signals[load.key];
  const columns = Object.entries(block.signals).filter((entry) => isSignalKey(entry[0]) && entry[1] !== undefined);
  const settleMs = duty.settleSeconds * 1000;
  const windowMs = duty.windowSeconds * 1000;
  const spacingMs = duty.spacingSeconds * 1000;
  const points: SteadyPoint[] = [];

  let sums: Partial<Record<SignalKey, SignalSums>> = { ...state.window?.sums };
  let windowFromMs = state.window?.fromMs ?? null;
  let first = 0;
  const gather = (to: number) => {
    for (const [key, values] of columns) {
      const next = addToSums(sums[key as SignalKey], { values: values as readonly (number | null)[], from: first, to });
      if (next !== undefined) sums[key as SignalKey] = next;
    }
    first = to;
  };

  for (let i = 0; i < block.t.length; i += 1) {
    const t = block.t[i] as number;
    if (t <= tracker.lastMs) {
      first = i + 1;
      continue;
    }
    const steady = tracker.advance(t, speeds?.[i] ?? null, loads?.[i] ?? null);
    if (!steady) tracker.nextMs = t + settleMs;
    if (!steady || t < tracker.nextMs || t - tracker.runningSinceMs < STEADY.warmUpMs) {
      windowFromMs = null;
      sums = {};
      first = i + 1;
      continue;
    }
    if (windowFromMs === null) {
      windowFromMs = t;
      first = i;
    }
    if (t - windowFromMs >= windowMs) {
      gather(i + 1);
      const point = closeWindow({ unit: unit.id, fromMs: windowFromMs, toMs: t, sums });
      if (point !== undefined) {
        points.push({ point, runningMs: tracker.runningMs });
        tracker.usedMs += t - windowFromMs;
      }
      tracker.nextMs = windowFromMs + spacingMs;
      windowFromMs = null;
      sums = {};
    }
  }
  if (windowFromMs !== null) gather(block.t.length);
  return { state: tracker.state(windowFromMs === null ? null : { fromMs: windowFromMs, sums }), points };
}

function closeWindow(p: {
  unit: string;
  fromMs: number;
  toMs: number;
  sums: Partial<Record<SignalKey, SignalSums>>;
}): OperatingPoint | undefined {
  if ((p.sums.engineSpeed?.[3] ?? 0) < STEADY.minSamples) return undefined;
  const signals: Partial<Record<SignalKey, ReturnType<typeof summarise>>> = {};
  for (const key in p.sums) {
    const sums = p.sums[key as SignalKey];
    if (sums !== undefined) signals[key as SignalKey] = summarise(sums);
  }
  return { version: 1, unit: p.unit, fromMs: p.fromMs, toMs: p.toMs, signals };
}

/** The mutable walk over one block: speed, load and the run they make. */
function createTracker(state: SteadyState, unit: Unit, load: LoadSignal | undefined) {
  const { engine } = unit;
  const speedTolerance = STEADY.speedToleranceRatio * engine.ratedSpeedRpm;
  const loadTolerance = STEADY.loadToleranceRatio * (load?.rated ?? 1);
  const runningSpeed = STEADY.runningSpeedRatio * engine.ratedSpeedRpm;
  let { speed, speedMs, load: loadNow, loadMs } = state.held;
  let count = state.run?.count ?? 0;
  let meanSpeed = state.run?.speed ?? 0;
  let meanLoad = state.run?.load ?? 0;

  const tracker = {
    lastMs: state.lastMs,
    runSinceMs: state.run?.sinceMs ?? 0,
    nextMs: state.run?.nextMs ?? 0,
    runningSinceMs: state.runningSinceMs ?? Number.NaN,
    runningMs: state.runningMs,
    usedMs: state.usedMs,
    /** Takes one sample; true when it goes on with the run, false when it begins a new one or the engine stands. */
    advance(t: number, speedValue: number | null, loadValue: number | null): boolean {
      const gapMs = t - tracker.lastMs;
      tracker.lastMs = t;
      if (speedValue !== null) [speed, speedMs] = [speedValue, t];
      if (loadValue !== null) [loadNow, loadMs] = [loadValue, t];
      const known = t - speedMs <= STEADY.holdMs && (load === undefined || t - loadMs <= STEADY.holdMs);
      if (!known || speed < runningSpeed) {
        count = 0;
        if (speedValue !== null && speed < runningSpeed) tracker.runningSinceMs = Number.NaN;
        return false;
      }
      if (gapMs > STEADY.maxGapMs) {
        count = 0;
        // Silence over hours is a stop with the logger off; the engine has to warm up again.
        if (gapMs > STEADY.warmUpMs) tracker.runningSinceMs = Number.NaN;
      } else {
        tracker.runningMs += Number.isNaN(tracker.runningSinceMs) ? 0 : gapMs;
      }
      if (Number.isNaN(tracker.runningSinceMs)) tracker.runningSinceMs = t;
      const fits =
        count > 0 &&
        Math.abs(speed - meanSpeed) <= speedTolerance &&
        (load === undefined || Math.abs(loadNow - meanLoad) <= loadTolerance);
      if (!fits) {
        tracker.runSinceMs = t;
        [count, meanSpeed, meanLoad] = [1, speed, loadNow];
        return false;
      }
      count += 1;
      meanSpeed += (speed - meanSpeed) / count;
      meanLoad += (loadNow - meanLoad) / count;
      return true;
    },
    state(window: SteadyState['window']): SteadyState {
      return {
        lastMs: tracker.lastMs,
        runningSinceMs: Number.isNaN(tracker.runningSinceMs) ? null : tracker.runningSinceMs,
        run:
          count === 0
            ? null
            : { sinceMs: tracker.runSinceMs, count, speed: meanSpeed, load: meanLoad, nextMs: tracker.nextMs },
        window,
        held: { speed, speedMs, load: loadNow, loadMs },
        runningMs: tracker.runningMs,
        usedMs: tracker.usedMs,
      };
    },
  };
  return tracker;
}
