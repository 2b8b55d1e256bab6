/** Stretches of time that readings have come for, oldest first, ms since 1970 UTC, both ends included, none touching. */
export type CoveredRuns = readonly (readonly [fromMs: number, toMs: number])[];

/** Runs that are remembered; the oldest are forgotten, so rows from then on count as late, not as seen. */
export const COVERED_RUNS_MAX = 256;

/** Whether a time lies in one of the runs. */
export function isCovered(runs: CoveredRuns, timeMs: number): boolean {
  let low = 0;
  let high = runs.length - 1;
  while (low <= high) {
    const middle = (low + high) >> 1;
    const run = runs[middle];
    if (run === undefined) return false;
    if (timeMs < run[0]) high = middle - 1;
    else if (timeMs > run[1]) low = middle + 1;
    else return true;
  }
  return false;
}

/**
 * The runs with further times in them.
 *
 * @param p.timesMs - Rising.
 * @param p.gapMs - Times no further apart belong to one run. Small, because a time that falls into a run is taken for
 *   one that has been seen.
 */
export function coverTimes(p: { runs: CoveredRuns; timesMs: readonly number[]; gapMs: number }): CoveredRuns {
  const added: [number, number][] = [];
  let open: [number, number] | undefined;
  for (const timeMs of p.timesMs) {
    if (open !== undefined && timeMs - open[1] <= p.gapMs) open[1] = timeMs;
    else {
      open = [timeMs, timeMs];
      added.push(open);
    }
  }
  const all = [...p.runs.map((run): [number, number] => [run[0], run[1]]), ...added].sort((a, b) => a[0] - b[0]);
  const merged: [number, number][] = [];
  for (const run of all) {
    const before = merged.at(-1);
    if (before !== undefined && run[0] - before[1] <= p.gapMs) before[1] = Math.max(before[1], run[1]);
    else merged.push(run);
  }
  return merged.slice(-COVERED_RUNS_MAX);
}
