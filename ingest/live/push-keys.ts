import type { Clock } from './clock.ts';
import { PushRefusal } from './push-problem.ts';

/** Keys that are remembered at most; the oldest are forgotten first. */
const KEYS_MAX = 10_000;
/** How long a key is remembered. */
const KEPT_MS = 24 * 3_600_000;
/** Longest key. */
const KEY_LENGTH_MAX = 255;

/** Answers by idempotency key, so that a request that is sent again gets the answer of the first. */
export type AnswerKeys<Answer> = {
  /**
   * The answer to a request: the kept one, the one that is being worked out, or that of `work`.
   *
   * @param p.key - As the sender chose it, together with who the sender is.
   * @param p.fingerprint - Of the body.
   * @throws PushRefusal 422 when the key came with another body before, 400 when it is too long.
   */
  answer(p: { key: string; fingerprint: string; work: () => Promise<Answer> }): Promise<Answer>;
};

/**
 * Keys in memory. After a restart they are unknown, and a request that is sent again counts as duplicates: nothing
 * doubles.
 */
export function createAnswerKeys<Answer>(clock: Clock): AnswerKeys<Answer> {
  const kept = new Map<
    string,
    { readonly fingerprint: string; readonly answer: Promise<Answer>; readonly atMs: number }
  >();
  const forgetOld = () => {
    for (const [key, { atMs }] of kept) {
      if (kept.size <= KEYS_MAX && clock.now() - atMs < KEPT_MS) break;
      kept.delete(key);
    }
  };
  return {
    async answer({ key, fingerprint, work }) {
      if (key.length > KEY_LENGTH_MAX) {
        throw new PushRefusal({
          status: 400,
          title: 'Key too long',
          detail: `An Idempotency-Key may have ${KEY_LENGTH_MAX} characters.`,
        });
      }
      forgetOld();
      const before = kept.get(key);
      if (before !== undefined) {
        if (before.fingerprint === fingerprint) return before.answer;
        throw new PushRefusal({
          status: 422,
          title: 'Key used before',
          detail:
            'This Idempotency-Key came with another body before; give every request a key of its own, and the same one only to the same request.',
        });
      }
      const answer = work();
      kept.set(key, { fingerprint, answer, atMs: clock.now() });
      // A failure is not kept: the sender shall try again.
      void answer.catch(() => kept.delete(key));
      return answer;
    },
  };
}
