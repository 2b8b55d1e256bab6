import type { Readable } from 'node:stream';
import type { J1939Rule, N2kRule } from '../../schemas/source-rule.ts';
import { createLineFeed } from './line-feed.ts';
import type { LiveSetting, LiveSource } from './live-source.ts';

/** Longest line that is kept together; the decoder refuses longer ones. */
const LINE_BYTES_MAX = 64 * 1024;

/** A pipe that is being read. */
export type PipeSource = LiveSource & {
  /** Resolves when the writer has closed the pipe and all of it is in. */
  readonly ended: Promise<void>;
};

/**
 * Takes in the text of a CAN interface while it is written, as `candump -L can0` writes it, one frame a line. This is the
 * way for live CAN: the system's own tool reads the interface, and no native module is needed.
 *
 * @param p.input - The pipe. It is read no faster than the log can store.
 * @param p.rule - A source rule for candump text; its id with `-live` is that of the source.
 */
export function startCandumpPipe(p: LiveSetting & { input: Readable; rule: J1939Rule | N2kRule }): PipeSource {
  const source = `${p.rule.id}-live`;
  const feed = createLineFeed({ ...p, source, secondOf: candumpSecond });
  let held: Buffer = Buffer.alloc(0);
  let isStopping = false;
  const read = async () => {
    for await (const chunk of p.input as AsyncIterable<Buffer>) {
      held = held.length === 0 ? chunk : Buffer.concat([held, chunk]);
      for (let feedAt = held.indexOf(0x0a); feedAt >= 0; feedAt = held.indexOf(0x0a)) {
        await feed.line(held.subarray(0, feedAt + 1));
        held = held.subarray(feedAt + 1);
      }
      if (held.length > LINE_BYTES_MAX) {
        await feed.line(held);
        held = Buffer.alloc(0);
      }
      if (isStopping) break;
    }
    if (held.length > 0) await feed.line(held);
    await feed.drain();
  };
  const ended = read().catch((error: unknown) => {
    if (!isStopping) p.onFailure(error);
  });
  return {
    id: source,
    ended,
    async stop() {
      isStopping = true;
      p.input.destroy();
      await ended;
      await feed.drain();
    },
  };
}

// "(1589326646.631333) can0 18FEF600#FF": the digits before the point.
function candumpSecond(line: Uint8Array): string | undefined {
  if (line[0] !== 0x28) return undefined;
  const point = line.indexOf(0x2e);
  return point > 0 && point < 24 ? Buffer.from(line.subarray(1, point)).toString('latin1') : undefined;
}
