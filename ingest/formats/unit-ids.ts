import type { CsvRule } from '../../schemas/source-rule.ts';
import { utf8Text } from './raw-text.ts';

/** The units that the rows of a file are of. */
export type UnitIds = {
  /** Units met so far. */
  readonly ids: readonly string[];
  /** Index in `ids` of the unit that the bytes name; -1 when it is no unit of the fleet. */
  indexOf(bytes: Uint8Array, start: number, end: number): number;
};

/** The units of a file: the one of its rule, or those its unit column names. */
export function createUnitIds(p: { rule: CsvRule; unitIds: ReadonlySet<string> }): UnitIds {
  const ids: string[] = p.rule.unit === undefined ? [] : [p.rule.unit];
  // Rows of one unit mostly follow each other, so the last name is compared before a text is made.
  let last = new Uint8Array();
  let lastIndex = -1;
  return {
    ids,
    indexOf(bytes, start, end) {
      if (lastIndex >= 0 && last.length === end - start && last.every((byte, i) => byte === bytes[start + i]))
        return lastIndex;
      const id = utf8Text(bytes.subarray(start, end))?.trim();
      if (id === undefined || !p.unitIds.has(id)) return -1;
      const known = ids.indexOf(id);
      lastIndex = known >= 0 ? known : ids.push(id) - 1;
      last = bytes.slice(start, end);
      return lastIndex;
    },
  };
}
