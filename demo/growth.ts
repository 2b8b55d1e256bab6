/** How a fault grows from its onset: to its full size at once, along a straight line, or washed off and grown again. */
export type Growth =
  | { readonly shape: 'step'; readonly onsetMs: number }
  | { readonly shape: 'linear'; readonly onsetMs: number; readonly fullMs: number }
  | {
      readonly shape: 'sawtooth';
      readonly onsetMs: number;
      /** Between two washes, and the part of the deposit that a wash leaves behind, 0 to 1. */
      readonly periodMs: number;
      readonly leftBehind: number;
    };

/**
 * Size of a fault at a time, from 0 (not there) to 1 (full size). A line stays at 1 after its end. A sawtooth reaches 1
 * just before each wash.
 */
export function growthAt(growth: Growth, timeMs: number): number {
  const since = timeMs - growth.onsetMs;
  if (since < 0) return 0;
  switch (growth.shape) {
    case 'step':
      return 1;
    case 'linear':
      return Math.min(since / (growth.fullMs - growth.onsetMs), 1);
    case 'sawtooth': {
      const cycle = Math.floor(since / growth.periodMs);
      const phase = since / growth.periodMs - cycle;
      const start = cycle === 0 ? 0 : growth.leftBehind;
      return start + (1 - start) * phase;
    }
  }
}
