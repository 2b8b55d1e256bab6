import { createHash } from 'node:crypto';
import { assert } from '../../schemas/assert.ts';
import type { SourceRule } from '../../schemas/source-rule.ts';
import { clockLimits } from '../checks.ts';
import type { DecodedBatch } from '../formats/decoder.ts';
import { createDecoder } from '../formats/formats.ts';
import { type LiveSetting, LiveSourceError } from './live-source.ts';
import { createLiveSession } from './session.ts';

/** A second that nothing has been added to for so long is complete. */
const QUIET_MS = 2000;

/** Takes lines of a log in while it is written. */
export type LineFeed = {
  /** A line with its line feed. Resolves once another may come. */
  line(bytes: Uint8Array): Promise<void>;
  /** Takes in what has come, and ends. */
  drain(): Promise<void>;
};

/**
 * A feed that reads lines by a source rule, and hands what they hold on whenever a new second begins.
 *
 * @param p.source - Id of the live source.
 * @param p.secondOf - The second that a line is of, as any text that differs from one to the next; `undefined` where a
 *   line does not say.
 */
export function createLineFeed(
  p: LiveSetting & { source: string; rule: SourceRule; secondOf: (line: Uint8Array) => string | undefined },
): LineFeed {
  const { clock, rule } = p;
  const units = p.fleet.units.map((unit) => unit.id);
  const session = createLiveSession({ ...p, units });
  const startedMs = clock.now();
  const limits = clockLimits(startedMs);
  const decoder = createDecoder({
    rule,
    unitIds: new Set(units),
    // The receiver's time moves on while the log is written.
    clock: {
      earliestMs: limits.earliestMs,
      get latestMs() {
        return limits.latestMs + clock.now() - startedMs;
      },
    },
  });
  const flush = decoder.flush?.bind(decoder);
  assert(flush !== undefined, 'only formats that can be read while they are written are fed line by line');
  const fingerprint = () =>
    createHash('sha256')
      .update(JSON.stringify([p.source, startedMs]))
      .digest('hex');
  let second: string | undefined;
  let cancelQuiet = () => {};
  const take = (batches: readonly DecodedBatch[]) => {
    for (const batch of batches) {
      if (batch.samples.length === 0 && batch.rejects.length === 0) continue;
      // A failure of the log is told through onFailure; a line has nobody to answer.
      session.take({ batch, name: p.source, format: rule.format, fingerprint }).catch(() => {});
    }
  };
  return {
    async line(bytes) {
      const now = p.secondOf(bytes);
      if (now !== undefined && now !== second) {
        if (second !== undefined) take(flush());
        second = now;
      }
      take(decoder.push(bytes));
      cancelQuiet();
      cancelQuiet = clock.after(QUIET_MS, () => take(flush()));
      const { problem } = decoder.standing();
      if (problem !== undefined) p.onFailure(new LiveSourceError(`${p.source}: ${problem.detail}`));
      if (!session.hasRoom()) await session.room();
    },
    async drain() {
      cancelQuiet();
      take(decoder.finish());
      await session.drain();
    },
  };
}
