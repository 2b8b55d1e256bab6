/**
 * The place where a continuous function changes sign, by the Illinois form of false position with bisection whenever a
 * step gains too little. Needs no derivative and cannot leave the bracket.
 *
 * @param p.of - The function. Finite over the bracket.
 * @param p.low - Lower end of the bracket.
 * @param p.high - Upper end of the bracket.
 * @returns The root, to the last digits of a double; `undefined` when `of` has one sign at both ends.
 * @see Dowell and Jarratt, BIT 11 (1971) 168: the Illinois algorithm.
 */
export function bracketedRoot(p: { of: (x: number) => number; low: number; high: number }): number | undefined {
  let { low, high } = p;
  let atLow = p.of(low);
  let atHigh = p.of(high);
  if (atLow === 0) return low;
  if (atHigh === 0) return high;
  if (!(atLow < 0 !== atHigh < 0)) return undefined;
  for (
    let step = 0;
    step < MAX_STEPS && Math.abs(high - low) > RESOLUTION * Math.max(Math.abs(low), Math.abs(high));
    step += 1
  ) {
    // Every third step halves the bracket, which bounds the number of steps for any function.
    const falsePosition = high - (atHigh * (high - low)) / (atHigh - atLow);
    const middle = step % 3 === 2 || !(falsePosition > low && falsePosition < high) ? (low + high) / 2 : falsePosition;
    const atMiddle = p.of(middle);
    if (atMiddle === 0) return middle;
    if (atMiddle < 0 === atLow < 0) {
      low = middle;
      atLow = atMiddle;
      atHigh /= 2;
    } else {
      high = middle;
      atHigh = atMiddle;
      atLow /= 2;
    }
  }
  return (low + high) / 2;
}

/** 3 bisections gain at least 3 bits: 200 steps exhaust a double from any bracket used here. */
const MAX_STEPS = 200;
const RESOLUTION = 1e-15;
