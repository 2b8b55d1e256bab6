import { assert } from '../../schemas/assert.ts';
import { chiSquaredQuantile } from './chi-squared.ts';

/**
 * Exact interval of the mean of a Poisson count: what the true rate may be when `count` events were seen.
 *
 * @param count - Whole, 0 or more.
 * @param confidence - Between 0 and 1, both excluded; equal tails on both sides.
 * @returns Lower end (0 for no events) and upper end, in events.
 * @throws AssertionError outside those ranges.
 * @see Garwood (1936), Biometrika 28, 437-442.
 */
export function poissonInterval(count: number, confidence: number): readonly [lower: number, upper: number] {
  assert(Number.isInteger(count) && count >= 0, 'a count is whole and not below zero');
  assert(confidence > 0 && confidence < 1, 'a confidence lies between 0 and 1');
  const tail = (1 - confidence) / 2;
  const lower = count === 0 ? 0 : chiSquaredQuantile(tail, 2 * count) / 2;
  return [lower, chiSquaredQuantile(1 - tail, 2 * count + 2) / 2];
}
