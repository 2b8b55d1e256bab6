/**
 * Id of a task, from its unit and the finding that opened it: a replay gives the same id. Short enough to be read out
 * over the telephone and safe in an address: the unit, a point, and seven letters or digits.
 *
 * @param p.unit - Unit id, small letters, digits and hyphens: it holds no point.
 * @param p.finding - Id of the first finding.
 * @param p.taken - Ids that other tasks of the unit have; a clash, one in ten thousand millions a pair, gets a number.
 */
export function taskId(p: { unit: string; finding: string; taken: readonly string[] }): string {
  const plain = `${p.unit}.${code(p.finding)}`;
  let id = plain;
  for (let n = 2; p.taken.includes(id); n += 1) id = `${plain}.${n}`;
  return id;
}

/** The unit that a task id belongs to; `undefined` when this is no task id. */
export function unitOfTask(id: string): string | undefined {
  return /^([a-z0-9][a-z0-9-]*)\.[a-z0-9]{7}(?:\.\d+)?$/.exec(id)?.[1];
}

/** Two 32-bit FNV-1a sums (public domain, Fowler, Noll, Vo), the second over the text reversed, in seven base-36 digits. */
function code(text: string): string {
  const high = fnv1a([...text]);
  const low = fnv1a([...text].reverse());
  const number = (high & 0x7) * 2 ** 32 + low;
  return number.toString(36).padStart(7, '0').slice(-7);
}

function fnv1a(characters: readonly string[]): number {
  let sum = 0x811c9dc5;
  for (const character of characters) {
    sum = Math.imul(sum ^ (character.codePointAt(0) ?? 0), 0x01000193) >>> 0;
  }
  return sum;
}
