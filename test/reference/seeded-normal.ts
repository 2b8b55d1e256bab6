/**
 * A source of standard normal values that repeats itself: the same seed, the same values. For simulations in tests only.
 *
 * @param seed - Any whole number.
 * @see Marsaglia (2003), Journal of Statistical Software 8(14) (the generator); Box & Muller (1958), Annals of
 *   Mathematical Statistics 29, 610-611.
 */
export function seededNormal(seed: number): () => number {
  let state = seed >>> 0 || 1;
  const uniform = () => {
    state ^= state << 13;
    state ^= state >>> 17;
    state ^= state << 5;
    return ((state >>> 0) + 0.5) / 2 ** 32;
  };
  for (let i = 0; i < 20; i++) uniform();
  let spare: number | undefined;
  return () => {
    if (spare !== undefined) {
      const kept = spare;
      spare = undefined;
      return kept;
    }
    const radius = Math.sqrt(-2 * Math.log(uniform()));
    const angle = 2 * Math.PI * uniform();
    spare = radius * Math.sin(angle);
    return radius * Math.cos(angle);
  };
}
