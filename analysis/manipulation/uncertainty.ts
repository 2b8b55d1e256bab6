/** A measured quantity: its best value and its standard uncertainty, both in its own unit. */
export type Measurement = { readonly value: number; readonly standardUncertainty: number };

/** A result with its combined standard uncertainty and the part that each input contributes, all in the result's unit. */
export type PropagatedResult<K extends string> = {
  readonly value: number;
  readonly standardUncertainty: number;
  /** Sensitivity times uncertainty of each input, with its sign: the largest names the sensor worth improving. */
  readonly contributions: Readonly<Record<K, number>>;
};

/**
 * Value and combined standard uncertainty of a formula, by the law of propagation of uncertainty to first order.
 *
 * The sensitivities are central differences over one standard uncertainty to each side, which also averages a mild curvature.
 * Where the result is strongly curved over its inputs' uncertainty the first order understates it.
 *
 * @param p.of - The formula; pure. May be undefined at some inputs.
 * @param p.inputs - Each input's value and standard uncertainty (0 for an exact one, never below zero).
 * @param p.correlation - Correlation coefficient of two inputs, -1 to 1, such as of two sensors on one reference; 0 when left out.
 * @returns `undefined` when the formula is undefined at the inputs or one standard uncertainty away from them: then the
 *   result is not known well enough to have an uncertainty.
 * @see JCGM 100:2008, 5.1.2 (uncorrelated), 5.2.2 (correlated) and note 2 to 5.1.3 (differences).
 */
export function propagatedUncertainty<K extends string>(p: {
  of: (inputs: Readonly<Record<K, number>>) => number | undefined;
  inputs: Readonly<Record<K, Measurement>>;
  correlation?: (one: K, other: K) => number;
}): PropagatedResult<K> | undefined {
  const keys = Object.keys(p.inputs) as K[];
  const values = Object.fromEntries(keys.map((key) => [key, p.inputs[key].value])) as Record<K, number>;
  const value = p.of(values);
  if (value === undefined) return undefined;

  const contributions = {} as Record<K, number>;
  // One object is shifted and set back, input by input: this runs for every indicator of every operating point.
  const shifted = { ...values };
  for (const key of keys) {
    const { value: at, standardUncertainty: step } = p.inputs[key];
    if (step === 0) {
      contributions[key] = 0;
      continue;
    }
    shifted[key] = at + step;
    const above = p.of(shifted);
    shifted[key] = at - step;
    const below = p.of(shifted);
    shifted[key] = at;
    if (above === undefined || below === undefined) return undefined;
    contributions[key] = (above - below) / 2;
  }

  let variance = 0;
  for (const [index, one] of keys.entries()) {
    variance += contributions[one] ** 2;
    if (p.correlation === undefined) continue;
    for (const other of keys.slice(index + 1)) {
      variance += 2 * contributions[one] * contributions[other] * p.correlation(one, other);
    }
  }
  // Fully correlated inputs that cancel may leave a variance a rounding below zero.
  return { value, standardUncertainty: Math.sqrt(Math.max(0, variance)), contributions };
}
