import type { Finding } from '../schemas/finding.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import type { Emit, LogPort } from '../storage/log/port.ts';
import { applyFinding } from './book/apply-finding.ts';
import { type Book, decodeBook, encodeBook, initialBook } from './book/book.ts';
import { COMMIT_ATTEMPTS_MAX } from './limits.ts';
import { ALERTS_GROUP, isStateChanged } from './tasks.ts';

/** What one round of {@link runAlertsOnce} did. */
export type AlertsRound = {
  /** Findings taken from the log; 0 when there are none now. */
  readonly findings: number;
  /** Units whose book changed. */
  readonly changed: number;
  /** Tasks that were not there before. */
  readonly opened: number;
  /** Findings whose unit the fleet file does not know; each went to the dead letters. */
  readonly refused: number;
};

/**
 * Takes one batch of findings from the log into the task books: books, dead letters and position in one step.
 *
 * @param p.max - Most findings in the batch.
 * @returns Counts; `findings` is 0 when there is nothing to do.
 * @throws PortError when the log fails; the batch is then handed out again, whole. A book that a person changed in
 *   between is read again and the batch applied anew, at most {@link COMMIT_ATTEMPTS_MAX} times.
 */
export async function runAlertsOnce(p: { log: LogPort; fleet: FleetFile; max: number }): Promise<AlertsRound> {
  const units = new Map(p.fleet.units.map((unit) => [unit.id, unit]));
  const batch = await p.log.poll({ group: ALERTS_GROUP, topics: ['findings'], max: p.max });
  if (batch === undefined) return { findings: 0, changed: 0, opened: 0, refused: 0 };
  const records = batch.records.flatMap((record) => (record.topic === 'findings' ? [record] : []));
  const keys = [...new Set(records.map(({ value }) => value.unit))];
  const emit = records.flatMap(({ value, offset }) => (units.has(value.unit) ? [] : [strangeUnit(value, offset)]));
  for (let attempt = 1; ; attempt += 1) {
    const stored = await p.log.states({ group: ALERTS_GROUP, keys });
    const before = new Map<string, Book>(keys.map((key) => [key, bookOf(stored.get(key)?.value)]));
    const after = new Map(before);
    for (const { value } of records) {
      const unit = units.get(value.unit);
      if (unit !== undefined) after.set(unit.id, applyFinding(after.get(unit.id) ?? initialBook(), value, unit));
    }
    const changed = keys.filter((key) => after.get(key) !== before.get(key));
    try {
      await p.log.commit({
        group: ALERTS_GROUP,
        emit,
        state: changed.map((key) => ({ key, value: encodeBook(after.get(key) ?? initialBook()) })),
        position: batch.position,
        expect: changed.map((key) => ({ key, version: stored.get(key)?.version ?? 0 })),
      });
    } catch (error) {
      if (!isStateChanged(error) || attempt >= COMMIT_ATTEMPTS_MAX) throw error;
      continue;
    }
    const count = (books: ReadonlyMap<string, Book>) =>
      [...books.values()].reduce((sum, { tasks }) => sum + tasks.length, 0);
    return {
      findings: records.length,
      changed: changed.length,
      opened: count(after) - count(before),
      refused: emit.length,
    };
  }
}

function bookOf(stored: Parameters<typeof decodeBook>[0] | undefined): Book {
  return stored === undefined ? initialBook() : decodeBook(stored);
}

/** A finding of a unit that left the fleet file, or never stood in it. */
function strangeUnit(finding: Finding, offset: number): Emit {
  return {
    topic: 'dead_letters',
    key: finding.unit,
    value: {
      version: 1,
      id: `alerts-${finding.id}-${finding.updatedAtMs}`,
      unit: finding.unit,
      source: 'findings',
      format: 'finding',
      position: Math.max(0, offset),
      code: 'value_out_of_range',
      field: 'unit',
      detail: `Unit "${finding.unit}" is not in the fleet file; add it and replay, or ignore a unit that left the fleet.`,
      raw: JSON.stringify(finding).slice(0, 2000),
      receivedAtMs: finding.updatedAtMs,
    },
  };
}
