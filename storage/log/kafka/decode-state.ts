import type { Json, StoredState } from '../port.ts';
import { logError } from './errors.ts';

/** @throws PortError `record_unreadable` when the stored text is no JSON. */
export function decodeStateText(p: { key: string; version: number; text: string }): StoredState {
  try {
    return { version: p.version, value: JSON.parse(p.text) as Json };
  } catch (cause) {
    throw logError({
      code: 'record_unreadable',
      message: `The state of "${p.key}" cannot be read: ${cause instanceof Error ? cause.message : String(cause)}. Another program has written to the topic of states.`,
      cause,
    });
  }
}
