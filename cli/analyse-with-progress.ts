import { ANALYSIS_GROUP } from '../analysis/worker.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import { type Analysed, analyseWhatWaits, resultLine } from './keep-analysing.ts';
import { say } from './output.ts';
import { createProgress } from './progress.ts';
import type { Stores } from './wiring.ts';

/** Analyses everything that is waiting, with a progress bar, and says what came of it; silent when nothing waits. */
export async function analyseWithProgress(p: {
  stores: Stores;
  fleet: FleetFile;
  signal?: AbortSignal;
}): Promise<Analysed> {
  const waiting = await p.stores.log.lag({ group: ANALYSIS_GROUP, topics: ['samples'] });
  if (waiting > 0) say(`Blocks of samples to analyse: ${waiting}.`);
  const progress = createProgress('Analysing');
  try {
    const analysed = await analyseWhatWaits({
      ...p,
      onStep: ({ blocks }) => progress.update(waiting === 0 ? 1 : blocks / waiting),
    });
    progress.stop();
    if (analysed.blocks > 0) {
      say(`Analysed. ${resultLine(analysed)}`);
    }
    return analysed;
  } finally {
    progress.stop();
  }
}
