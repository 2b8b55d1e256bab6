import { LoadError } from '../ingest/load-error.ts';
import { type LoadOptions, type LoadProgressNote, loadFile } from '../ingest/load-file.ts';
import type { LoadReport } from '../ingest/load-report.ts';
import { PortError } from '../storage/port-error.ts';
import { say } from './output.ts';
import { createProgress, type Progress } from './progress.ts';

/** What came of several files. */
export type Loaded = {
  readonly reports: readonly LoadReport[];
  /** Files that could not be loaded at all; each has been named on stderr. */
  readonly failures: number;
};

/** Another process that loads readings of the same unit makes a step fail; it is then taken up again so many times. */
const ATTEMPTS_MAX = 8;

/**
 * Loads files one after the other, with a progress bar for each. One bad file does not stop the others.
 *
 * @param p.load - What holds for all files, as `loadFile` takes it.
 * @param p.signal - Stops, even in the middle of a file: the steps that are stored stay, and a later load goes on there.
 * @param p.onReport - Called as soon as a file is done.
 */
export async function loadFiles(p: {
  files: readonly string[];
  load: Omit<LoadOptions, 'path' | 'onProgress'>;
  signal: AbortSignal;
  onReport?: (report: LoadReport) => void;
}): Promise<Loaded> {
  const reports: LoadReport[] = [];
  let failures = 0;
  for (const path of p.files) {
    if (p.signal.aborted) break;
    const progress = createProgress(`Loading ${path}`);
    try {
      const report = await loadPatiently({ ...p.load, path, onProgress: showOn(progress, p.signal) });
      progress.stop();
      reports.push(report);
      p.onReport?.(report);
    } catch (error) {
      progress.stop();
      if (error === p.signal.reason) break;
      if (!(error instanceof LoadError)) throw error;
      say(`${path}: ${error.message}`);
      failures += 1;
    }
  }
  return { reports, failures };
}

function showOn(progress: Progress, signal: AbortSignal): (note: LoadProgressNote) => void {
  return ({ readBytes, totalBytes }) => {
    signal.throwIfAborted();
    progress.update(totalBytes === 0 ? 1 : readBytes / totalBytes);
  };
}

async function loadPatiently(options: LoadOptions): Promise<LoadReport> {
  for (let attempt = 1; ; attempt += 1) {
    try {
      return await loadFile(options);
    } catch (error) {
      const canHelp = error instanceof PortError && (error.retryable || error.code === 'state_changed');
      if (!canHelp || attempt >= ATTEMPTS_MAX) throw error;
    }
  }
}
