import { expect } from 'vitest';
import type { Emit, LogPort, Step, Topic } from '../../storage/log/port.ts';
import type { createClaims } from './contract.ts';

/** Opens a log; the same `name` opens the same log again, which is how reopening and a second process are tried. */
export type OpenLog = (name: string) => Promise<LogPort>;

export const GROUP = 'analysis';

/** Declares one test of the contract. */
export type Claim = ReturnType<typeof createClaims>['claim'];

/** A step that only emits. */
export function emitting(...emit: readonly Emit[]): Step {
  return { group: 'ingest', emit, state: [] };
}

/** A step of the group that the contract is tried with. */
export function step(p: Partial<Step>): Step {
  return { group: GROUP, emit: [], state: [], ...p };
}

/** All records that a group still has to deal with, committing batch by batch. */
export async function drain(
  log: LogPort,
  p: { group?: string; topics: readonly Topic[]; max: number },
): Promise<Emit[]> {
  const group = p.group ?? GROUP;
  const all: Emit[] = [];
  for (;;) {
    const batch = await log.poll({ group, topics: p.topics, max: p.max });
    if (batch === undefined) return all;
    expect(batch.records.length).toBeGreaterThan(0);
    expect(batch.records.length).toBeLessThanOrEqual(p.max);
    for (const { offset: _, ...record } of batch.records) all.push(record as Emit);
    await log.commit(step({ group, position: batch.position }));
  }
}

/** The values of each key, in the order read. */
export function byKey(records: readonly Emit[]): Map<string, unknown[]> {
  const found = new Map<string, unknown[]>();
  for (const { key, value } of records) found.set(key, [...(found.get(key) ?? []), value]);
  return found;
}
