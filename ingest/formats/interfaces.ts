import { rawText } from './raw-text.ts';

/** Interface names told apart in one log. */
const INTERFACES_MAX = 32;

/** The interfaces of a bus log, and which one is read. */
export type Interfaces = {
  readonly counts: ReadonlyMap<string, number>;
  readName(): string | undefined;
  /** Counts a frame, remote ones not, and says whether its interface is the one that is read. */
  count(bytes: Uint8Array, start: number, end: number, isRemote: boolean): boolean;
};

/**
 * Counts frames by interface. Two busses may each have an engine at the same address, so only one is read: the named
 * one, else that of the first frame.
 */
export function createInterfaces(wanted: string | undefined): Interfaces {
  const counts = new Map<string, number>();
  let readName = wanted;
  let last = new Uint8Array();
  let lastName: string | undefined;
  return {
    counts,
    readName: () => readName,
    count(bytes, start, end, isRemote) {
      let isSame = last.length === end - start && lastName !== undefined;
      for (let i = 0; isSame && i < last.length; i += 1) isSame = last[i] === bytes[start + i];
      if (!isSame) {
        last = bytes.slice(start, end);
        lastName = rawText(last);
        readName ??= lastName;
      }
      const name = lastName ?? '';
      if (!isRemote && (counts.has(name) || counts.size < INTERFACES_MAX))
        counts.set(name, (counts.get(name) ?? 0) + 1);
      return name === readName;
    },
  };
}
