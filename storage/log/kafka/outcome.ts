import { type Connection, ignoreClientError } from './connection.ts';
import { isClientError, logError } from './errors.ts';
import { pause } from './pause.ts';
import { readSlices } from './read-partition.ts';
import type { SentPlaces } from './send.ts';

const PATIENCE_MS = 20_000;
const PAUSE_MS = 200;

/**
 * Finds out what became of a transaction whose end nobody heard: takes over its id, which makes the broker end it, and
 * looks whether what it wrote is there.
 *
 * @returns True when it happened, false when nothing of it did.
 * @throws PortError `outcome_unknown` when the broker does not answer for long.
 */
export async function settle(
  connection: Connection,
  p: { transactionalId: string; sent: SentPlaces },
): Promise<boolean> {
  const [place] = p.sent.values();
  if (place === undefined) return false;
  const until = Date.now() + PATIENCE_MS;
  for (;;) {
    try {
      await endTransaction(connection, p.transactionalId);
      for (let next = place.offset; ; ) {
        const [slice] = await readSlices(connection, { places: [{ ...place, offset: next }], waitMs: PAUSE_MS });
        if (slice?.records.some(({ offset }) => offset === place.offset) === true) return true;
        if (slice !== undefined && slice.next > place.offset) return false;
        if (Date.now() > until) throw unknownOutcome();
        next = slice?.next ?? next;
      }
    } catch (error) {
      if (!isClientError(error) || Date.now() > until) throw isClientError(error) ? unknownOutcome(error) : error;
      await pause(PAUSE_MS);
    }
  }
}

async function endTransaction(connection: Connection, transactionalId: string): Promise<void> {
  const { producer } = await connection.createProducer(transactionalId);
  try {
    // Its first transaction asks the broker for the id anew; before it answers, the old one has ended.
    const transaction = await producer.transaction();
    await transaction.abort();
  } finally {
    await producer.disconnect().catch(ignoreClientError);
  }
}

function unknownOutcome(cause?: unknown): Error {
  return logError({
    code: 'outcome_unknown',
    message:
      'The connection to the broker broke while it ended a step, and it does not answer. The step may have happened; what it expected is checked again when it is repeated.',
    retryable: true,
    cause,
  });
}
