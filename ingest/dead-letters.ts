import { createHash } from 'node:crypto';
import type { DeadLetter } from '../schemas/dead-letter.ts';
import type { Reject } from '../schemas/reject.ts';
import type { Emit } from '../storage/log/port.ts';

/** Key of dead letters whose unit is not known. */
const NO_UNIT_KEY = '-';

/**
 * The record of one refusal. Its id derives from the file's content, the place and the field, so that reading again
 * repeats it and does not double it.
 */
export function deadLetter(p: {
  sha256: string;
  file: string;
  format: string;
  reject: Reject;
  position: number;
  raw: string;
  unit: string | null;
  receivedAtMs: number;
}): Emit {
  const { code, field, detail } = p.reject;
  const id = createHash('sha256')
    .update(JSON.stringify([p.sha256, p.position, field, code]))
    .digest('hex')
    .slice(0, 32);
  const value: DeadLetter = {
    version: 1,
    id,
    unit: p.unit,
    source: p.file,
    format: p.format,
    position: p.position,
    code,
    field,
    detail,
    raw: p.raw,
    receivedAtMs: p.receivedAtMs,
  };
  return { topic: 'dead_letters', key: p.unit ?? NO_UNIT_KEY, value };
}
