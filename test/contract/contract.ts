import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, expect, test } from 'vitest';
import { PortError } from '../../storage/port-error.ts';

/** A claim of a contract that an adapter cannot keep, and why. */
export type Skip = { readonly test: string; readonly reason: string };

/**
 * Declares the tests of a contract. A skip must name a test that exists, so that none outlives its reason.
 *
 * @returns `claim`, to be called in place of `test`, and `close`, to be called after the last of them.
 */
export function createClaims(skip: readonly Skip[]) {
  const known = new Set<string>();
  return {
    claim: (name: string, work: () => Promise<void>) => {
      known.add(name);
      const skipped = skip.find((one) => one.test === name);
      if (skipped === undefined) test(name, work);
      else test.skip(`${name} (${skipped.reason})`, work);
    },
    close: () =>
      test('every skip names a claim', () => {
        expect(skip.map((one) => one.test).filter((name) => !known.has(name))).toEqual([]);
      }),
  };
}

/** A new folder for the suite that calls it, removed after the last of its tests. */
export function temporaryFolder(): string {
  const folder = mkdtempSync(join(tmpdir(), 'chargeair-'));
  afterAll(() => rmSync(folder, { recursive: true, force: true }));
  return folder;
}

/** Code of the PortError that the work ends in, or `undefined` when it ends well; any other failure is thrown on. */
export async function portCodeOf(work: () => unknown): Promise<string | undefined> {
  try {
    await work();
    return undefined;
  } catch (error) {
    if (error instanceof PortError) return error.code;
    throw error;
  }
}

/** Everything that an iteration gives. */
export async function collect<T>(source: AsyncIterable<T>): Promise<T[]> {
  const all: T[] = [];
  for await (const one of source) all.push(one);
  return all;
}
