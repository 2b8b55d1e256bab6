/**
 * Probability that the largest distance of a Brownian bridge from zero exceeds `x`: the limit law of the Kolmogorov
 * statistic and of the cumulative sum of deviations from a mean, both divided by their standard deviation and sqrt(n).
 *
 * @param x - Zero or above; at zero and below the probability is 1.
 * @see Kolmogorov (1933); the second form is the theta transform, which converges where the first does not.
 */
export function kolmogorovUpperTail(x: number): number {
  if (x <= 0) return 1;
  if (x < 1) {
    let cdf = 0;
    for (let j = 1; j <= 20; j++) cdf += Math.exp((-((2 * j - 1) ** 2) * Math.PI ** 2) / (8 * x * x));
    return Math.max(0, 1 - (Math.sqrt(2 * Math.PI) / x) * cdf);
  }
  let tail = 0;
  for (let j = 1; j <= 20; j++) tail += (j % 2 === 1 ? 2 : -2) * Math.exp(-2 * j * j * x * x);
  return tail;
}
