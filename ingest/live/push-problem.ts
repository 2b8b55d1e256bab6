/** Why a request was refused, after RFC 9457; `type` is left at its default, `about:blank`. */
export type PushProblem = {
  readonly status: number;
  readonly title: string;
  /** What is wrong and how to mend it. */
  readonly detail: string;
  /** Seconds after which to try again (RFC 9110, 10.2.3). */
  readonly retryAfterSeconds?: number;
};

/** Seconds after which a sender who came too early may come again. */
export const RETRY_AFTER_SECONDS = 2;

/** More is under way than can be stored now. */
export const TOO_MUCH: PushProblem = {
  status: 429,
  title: 'Too much at once',
  detail: 'More is waiting than can be stored now; send this again in a moment.',
  retryAfterSeconds: RETRY_AFTER_SECONDS,
};

/** Ends a request with a problem. */
export class PushRefusal extends Error {
  override readonly name = 'PushRefusal';
  readonly problem: PushProblem;

  constructor(problem: PushProblem) {
    super(problem.detail);
    this.problem = problem;
  }
}
