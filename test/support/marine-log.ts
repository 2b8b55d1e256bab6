import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { loadFile } from '../../ingest/load-file.ts';
import type { LoadReport } from '../../ingest/load-report.ts';
import { REAL_LOGS, realFleet } from '../../ingest/real-logs-for-tests.ts';
import type { SignalKey } from '../../schemas/signals.ts';
import { openSqliteLog } from '../../storage/log/sqlite.ts';

const nowMs = Date.UTC(2027, 0, 1);

/** A log of its own into which the files of the data folder are loaded. */
export type MarineLog = {
  load(folderName: string, file: string): Promise<LoadReport>;
  /** Values of a signal of a unit by time. */
  samplesOf(unit: string, key: SignalKey): Promise<Map<number, number>>;
  close(): Promise<void>;
};

/** Opens an empty log in a folder that is removed with it. */
export function openMarineLog(): MarineLog {
  const folder = mkdtempSync(join(tmpdir(), 'ingest-marine-'));
  const log = openSqliteLog({ path: join(folder, 'log.db') });
  return {
    load: (folderName, file) => loadFile({ path: join(REAL_LOGS, folderName, file), fleet: realFleet, log, nowMs }),
    async samplesOf(unit, key) {
      const values = new Map<number, number>();
      for await (const { value: block } of log.scan({ topic: 'samples' })) {
        if (block.unit !== unit) continue;
        for (const [i, timeMs] of block.t.entries()) {
          const value = block.signals[key]?.[i];
          if (value !== null && value !== undefined) values.set(timeMs, value);
        }
      }
      return values;
    },
    async close() {
      await log.close();
      rmSync(folder, { recursive: true });
    },
  };
}

/** What a reference decoder gives for a quantity. */
export type ExpectedStatistics = {
  unit: string;
  min: number | null;
  max: number | null;
  mean: number | null;
  canonicalUnit?: string;
  canonicalMin?: number | null;
  canonicalMax?: number | null;
  canonicalMean?: number | null;
  firstTimestamp: string | null;
  lastTimestamp: string | null;
  firstValues: number[];
};

/**
 * A time of a reference decoder as our reports write it: to the nearest millisecond, where Date.parse cuts off. A
 * gateway's hyphen stands for the T and means UTC.
 *
 * @param startMs - When a log began whose times count from its start, ms since 1970 UTC.
 */
export function isoOf(text: string | null, startMs: number): string | null {
  if (text === null) return null;
  if (/^\d+\.\d+$/.test(text)) return new Date(Math.round(startMs + Number(text) * 1000)).toISOString();
  const plain = text.replace(/^(\d{4}-\d\d-\d\d)-(.*)$/, '$1T$2Z');
  const fraction = Number(/\.\d+/.exec(plain)?.[0] ?? 0);
  return new Date(Math.round(Date.parse(plain.replace(/\.\d+/, '')) + fraction * 1000)).toISOString();
}
