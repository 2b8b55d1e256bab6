import { runAlertsOnce } from '../alerts/worker.ts';
import { runAnalysisOnce } from '../analysis/worker.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import { PortError } from '../storage/port-error.ts';
import { say } from './output.ts';
import { pause } from './stop-signal.ts';
import type { Stores } from './wiring.ts';

/** What came of analysing everything that was waiting. */
export type Analysed = {
  readonly blocks: number;
  readonly points: number;
  readonly findings: number;
  /** Tasks that were not there before. */
  readonly opened: number;
};

/** What came of it, for a person. */
export function resultLine(analysed: Analysed): string {
  const { points, findings, opened } = analysed;
  return `Operating points: ${points}, reports of findings: ${findings}, new tasks: ${opened}.`;
}

/** Records a step takes from the log at once; bounds the memory of a step and the work lost when it is cut off. */
const RECORDS_PER_STEP = 64;
const IDLE_PAUSE_MS = 1000;
const RETRIES_MAX = 8;
const FIRST_RETRY_PAUSE_MS = 250;

/**
 * Runs analysis and alerts in turn until nothing is waiting in the log for either.
 *
 * @param p.signal - Stops between two steps; what has been done stays done, the rest waits in the log.
 * @param p.onStep - Called after every step that found something to do.
 */
export async function analyseWhatWaits(p: {
  stores: Stores;
  fleet: FleetFile;
  signal?: AbortSignal;
  onStep?: (analysed: Analysed) => void;
}): Promise<Analysed> {
  const { log, history } = p.stores;
  let total: Analysed = { blocks: 0, points: 0, findings: 0, opened: 0 };
  while (p.signal?.aborted !== true) {
    const analysis = await runAnalysisOnce({ log, history, fleet: p.fleet, max: RECORDS_PER_STEP });
    const alerts = await runAlertsOnce({ log, fleet: p.fleet, max: RECORDS_PER_STEP });
    if (analysis.batches === 0 && alerts.findings === 0) break;
    total = {
      blocks: total.blocks + analysis.blocks,
      points: total.points + analysis.points,
      findings: total.findings + analysis.findings,
      opened: total.opened + alerts.opened,
    };
    p.onStep?.(total);
    // Steps of an embedded store never wait for anything; without this a request or a signal would not get its turn.
    await new Promise((resolve) => setImmediate(resolve));
  }
  return total;
}

/**
 * Analyses what arrives in the log until the signal is aborted.
 *
 * A failure of the stores that says it can pass is tried again, each time after twice the pause, at most
 * {@link RETRIES_MAX} times in a row; then it is thrown, since a worker that only seems to work is worse than none.
 */
export async function keepAnalysing(p: { stores: Stores; fleet: FleetFile; signal: AbortSignal }): Promise<void> {
  let failures = 0;
  while (!p.signal.aborted) {
    try {
      const analysed = await analyseWhatWaits(p);
      if (analysed.findings > 0 || analysed.opened > 0) say(resultLine(analysed));
      failures = 0;
      await pause({ ms: IDLE_PAUSE_MS, signal: p.signal });
    } catch (error) {
      if (!(error instanceof PortError) || !error.retryable || failures >= RETRIES_MAX) throw error;
      failures += 1;
      const ms = FIRST_RETRY_PAUSE_MS * 2 ** failures;
      say(`${error.message} Trying again in ${ms / 1000} s (${failures} of ${RETRIES_MAX}).`);
      await pause({ ms, signal: p.signal });
    }
  }
}
