import cliProgress from 'cli-progress';

/** Shows how far something is. */
export type Progress = {
  /** @param part - From 0 to 1. */
  update(part: number): void;
  stop(): void;
};

/**
 * A progress bar on stderr, where stderr is a terminal; nothing at all where it is not, so that logs stay readable.
 *
 * @param label - What is under way, such as `Loading truck-07.csv`.
 */
export function createProgress(label: string): Progress {
  if (process.stderr.isTTY !== true) return { update: () => {}, stop: () => {} };
  const bar = new cliProgress.SingleBar(
    {
      format: `${label} {bar} {percentage} %`,
      stream: process.stderr,
      barsize: 28,
      barCompleteChar: '#',
      barIncompleteChar: '.',
      hideCursor: true,
      clearOnComplete: true,
    },
    cliProgress.Presets.legacy,
  );
  bar.start(100, 0);
  return { update: (part) => bar.update(Math.min(100, Math.max(0, Math.round(part * 100)))), stop: () => bar.stop() };
}
