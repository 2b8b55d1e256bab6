/** How an EWMA chart is set. `centre` and `sigma` are those of a single value when the process is healthy. */
export type EwmaSetting = {
  /** Weight of the newest value, above 0 to 1; 1 makes a Shewhart chart of it. */
  readonly weight: number;
  /** Distance of the limits in standard deviations of the average. */
  readonly limitSigmas: number;
  readonly centre: number;
  readonly sigma: number;
  /** 'exact' limits open from the first value on, 'asymptotic' ones are as wide from the start as they end up. Default 'asymptotic'. */
  readonly limits?: 'exact' | 'asymptotic';
};

/** State of an EWMA chart as plain data. */
export type EwmaState = { readonly average: number; readonly count: number };

/** The state before the first value: the average stands at the centre. */
export function initialEwma(setting: EwmaSetting): EwmaState {
  return { average: setting.centre, count: 0 };
}

/**
 * The state after one more value.
 *
 * Watches for a small lasting shift or a slow drift. It needs no warm-up beyond learning centre and sigma, which stay
 * frozen. Expected false alarms follow from `limitSigmas` (see `solveEwmaLimit`); autocorrelation raises them.
 *
 * @param value - Finite.
 * @see Roberts (1959), Technometrics 1, 239-250; NIST/SEMATECH e-Handbook 6.3.2.4; ISO 7870-6:2016.
 */
export function ewmaStep(state: EwmaState, value: number, setting: EwmaSetting): EwmaState {
  return { average: setting.weight * value + (1 - setting.weight) * state.average, count: state.count + 1 };
}

/** Lower and upper limit for the average after `count` values; with asymptotic limits `count` does not matter. */
export function ewmaLimits(setting: EwmaSetting, count: number): { readonly lower: number; readonly upper: number } {
  const { weight, centre, sigma, limitSigmas } = setting;
  const settled = setting.limits === 'exact' ? 1 - (1 - weight) ** (2 * count) : 1;
  const reach = limitSigmas * sigma * Math.sqrt((weight / (2 - weight)) * settled);
  return { lower: centre - reach, upper: centre + reach };
}

/** Which limit the average lies beyond (strictly); `undefined` while it is inside, and before the first value. */
export function ewmaSignal(state: EwmaState, setting: EwmaSetting): 'upper' | 'lower' | undefined {
  if (state.count === 0) return undefined;
  const { lower, upper } = ewmaLimits(setting, state.count);
  if (state.average > upper) return 'upper';
  return state.average < lower ? 'lower' : undefined;
}

/** A whole series at once: the state after each value. */
export function ewmaSeries(values: readonly number[], setting: EwmaSetting): EwmaState[] {
  let state = initialEwma(setting);
  return values.map((value) => {
    state = ewmaStep(state, value, setting);
    return state;
  });
}
