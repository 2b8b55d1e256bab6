/** Past this many transfer units `exp(-NTU)` leaves the range of a double. No cooler comes near it. */
const MOST_NTU = 700;
/** Terms left out after this are below the last digit of the sum. */
const NEGLIGIBLE = 1e-18;

/**
 * Effectiveness of crossflow with both streams unmixed, by the exact series.
 *
 * `eps = 1/(C N) sum over n of P(n+1, N) P(n+1, C N)`, where `P(n+1, x) = 1 - exp(-x) sum over m <= n of x^m / m!`.
 * All terms are positive, so nothing cancels.
 *
 * @param p.ntu - Number of transfer units, 0 to 700.
 * @param p.capacityRatio - `Cmin / Cmax`, above 0 to 1.
 * @returns `undefined` outside these ranges.
 * @see Mason, Proc. 2nd U.S. Nat. Congress of Applied Mechanics (1955) 801; Shah and Sekulic, Fundamentals of Heat
 *   Exchanger Design (2003), table 3.6.
 */
export function crossflowBothUnmixedEffectiveness(p: { ntu: number; capacityRatio: number }): number | undefined {
  if (!(p.ntu >= 0 && p.ntu <= MOST_NTU && p.capacityRatio > 0 && p.capacityRatio <= 1)) return undefined;
  if (p.ntu === 0) return 0;
  const hot = p.ntu;
  const cold = p.capacityRatio * p.ntu;
  let hotTail = -Math.expm1(-hot);
  let coldTail = -Math.expm1(-cold);
  let hotTerm = Math.exp(-hot);
  let coldTerm = Math.exp(-cold);
  let sum = 0;
  for (let n = 1; ; n += 1) {
    const product = hotTail * coldTail;
    sum += product;
    // A tail cannot fall below zero but by rounding; past its mean the series falls faster than any power.
    if (n > cold && product <= NEGLIGIBLE * sum) return sum / cold;
    hotTerm *= hot / n;
    coldTerm *= cold / n;
    hotTail = Math.max(0, hotTail - hotTerm);
    coldTail = Math.max(0, coldTail - coldTerm);
  }
}

/**
 * The textbook short formula for crossflow with both streams unmixed: up to 4 % off the exact series.
 *
 * @returns `undefined` for transfer units below zero or a capacity ratio outside 0 to 1.
 * @see Incropera et al., Fundamentals of Heat and Mass Transfer, equation 11.32.
 */
export function crossflowBothUnmixedApproximation(p: { ntu: number; capacityRatio: number }): number | undefined {
  if (!(p.ntu >= 0 && p.capacityRatio > 0 && p.capacityRatio <= 1)) return undefined;
  if (p.ntu === 0) return 0;
  return -Math.expm1((p.ntu ** 0.22 / p.capacityRatio) * Math.expm1(-p.capacityRatio * p.ntu ** 0.78));
}
