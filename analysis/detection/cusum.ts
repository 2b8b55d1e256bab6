/** How a tabular CUSUM is set. All in the unit of the value it is fed, usually standard deviations of the residual. */
export type CusumSetting = {
  /** Slack: deviations up to this size do not build up. Half of the shift to be found soonest. */
  readonly referenceValue: number;
  /** A sum above this signals. */
  readonly decisionInterval: number;
  /** Where the sums start, and start again: half of the decision interval finds a fault that is there from the start. Default 0. */
  readonly headStart?: number;
};

/** One of the two sums. */
export type CusumSide = {
  readonly sum: number;
  /** How many samples the sum has been above zero. */
  readonly runLength: number;
  /** Position (as given to {@link cusumStep}) of the first of those samples; `null` while the sum is zero. */
  readonly since: number | null;
};

/** State of a two-sided CUSUM as plain data. */
export type CusumState = { readonly upper: CusumSide; readonly lower: CusumSide; readonly count: number };

/** What a signalling CUSUM says: which way the level moved, since when, and by how much. */
export type CusumSignal = {
  readonly side: 'upper' | 'lower';
  /** The sum that signals. */
  readonly sum: number;
  readonly runLength: number;
  /** Position of the sample after the last one at which this sum was zero: the estimate of the onset. */
  readonly onset: number;
  /** Estimated shift from the target, with its sign. */
  readonly shift: number;
};

/** The state before the first sample, and after a restart. */
export function initialCusum(setting: Partial<CusumSetting>): CusumState {
  const side: CusumSide = { sum: setting.headStart ?? 0, runLength: 0, since: null };
  return { upper: side, lower: side, count: 0 };
}

/**
 * The state after one more sample.
 *
 * Watches for a lasting shift of the level, small or large, either way. It needs no warm-up beyond the learning of the
 * target and spread it is given deviations from; those stay frozen, or a slow fault would be learnt as normal. Expected
 * false alarms follow from the decision interval (see `solveCusumLimit`). Autocorrelated deviations imitate a shift, so
 * the limit must be solved with their autocorrelation; a step in a sensor looks the same as a step in the engine.
 *
 * @param state - From {@link initialCusum} or an earlier step.
 * @param deviation - Value less target, finite.
 * @param setting - Must be the one the state began with.
 * @param position - Where the sample stands, ascending: its time, or by default its number from 1.
 * @see Page (1954), Biometrika 41, 100-115; NIST/SEMATECH e-Handbook 6.3.2.3; ISO 7870-4:2021.
 */
export function cusumStep(
  state: CusumState,
  deviation: number,
  setting: CusumSetting,
  position: number = state.count + 1,
): CusumState {
  const advance = (side: CusumSide, push: number): CusumSide => {
    const sum = Math.max(0, side.sum + push - setting.referenceValue);
    if (sum === 0) return { sum, runLength: 0, since: null };
    return { sum, runLength: side.runLength + 1, since: side.since ?? position };
  };
  return { upper: advance(state.upper, deviation), lower: advance(state.lower, -deviation), count: state.count + 1 };
}

/**
 * What the state says, when a sum lies above the decision interval (strictly); else `undefined`. When both do, the
 * larger sum speaks.
 */
export function cusumSignal(state: CusumState, setting: CusumSetting): CusumSignal | undefined {
  const isUpper = state.upper.sum >= state.lower.sum;
  const side = isUpper ? state.upper : state.lower;
  if (!(side.sum > setting.decisionInterval) || side.since === null) return undefined;
  // The head start was never observed, so it says nothing about the size of the shift.
  const observed = side.sum - (side.runLength === state.count ? (setting.headStart ?? 0) : 0);
  const size = setting.referenceValue + observed / side.runLength;
  return {
    side: isUpper ? 'upper' : 'lower',
    sum: side.sum,
    runLength: side.runLength,
    onset: side.since,
    shift: isUpper ? size : -size,
  };
}

/** The state with every side that lies above the decision interval begun anew; the other side runs on. */
export function restartCusum(state: CusumState, setting: CusumSetting): CusumState {
  const fresh = initialCusum(setting).upper;
  const restart = (side: CusumSide) => (side.sum > setting.decisionInterval ? fresh : side);
  return { ...state, upper: restart(state.upper), lower: restart(state.lower) };
}

/**
 * A whole series at once: the state after each sample.
 *
 * @param deviations - Values less target.
 * @param setting - See {@link CusumSetting}.
 * @param afterSignal - 'continue' (default) lets the sums run on; 'restart' begins a sum anew after it has signalled.
 */
export function cusumSeries(
  deviations: readonly number[],
  setting: CusumSetting,
  afterSignal: 'continue' | 'restart' = 'continue',
): CusumState[] {
  let state = initialCusum(setting);
  return deviations.map((deviation) => {
    state = cusumStep(afterSignal === 'restart' ? restartCusum(state, setting) : state, deviation, setting);
    return state;
  });
}
