import type { Finding } from '../../schemas/finding.ts';
import type { LogPort } from '../../storage/log/port.ts';

/** The newest version of every finding in the log, kept in memory and brought up to date when it is asked for. */
export type FindingsView = {
  /** All findings by id. Sees every finding that was committed before the call. */
  current(): Promise<ReadonlyMap<string, Finding>>;
};

/**
 * A {@link FindingsView} of a log. Records of one key come with rising offsets, so what was seen is passed over; callers
 * that ask at the same time share one reading, unless it had begun before they asked.
 */
export function createFindingsView(log: LogPort): FindingsView {
  const byId = new Map<string, Finding>();
  const seenByKey = new Map<string, number>();
  let reading: Promise<void> = Promise.resolve();
  let waiting: Promise<void> | undefined;

  async function read(): Promise<void> {
    for await (const { key, offset, value } of log.scan({ topic: 'findings' })) {
      if (offset <= (seenByKey.get(key) ?? -1)) continue;
      seenByKey.set(key, offset);
      const known = byId.get(value.id);
      if (known === undefined || value.updatedAtMs >= known.updatedAtMs) byId.set(value.id, value);
    }
  }

  return {
    async current() {
      if (waiting === undefined) {
        // A failed reading was reported to those who waited for it; the next one starts afresh.
        const before = reading.catch(() => undefined);
        waiting = before.then(() => {
          waiting = undefined;
          reading = read();
          return reading;
        });
      }
      await waiting;
      return byId;
    },
  };
}
