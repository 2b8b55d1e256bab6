/** Why a request was refused, after RFC 9457; `type` is left at its default, `about:blank`. */
export type PushProblem = {
  readonly status: number;
  readonly title: string;
  /** What is wrong and how to mend it. */
  readonly detail: string;
  /** Seconds after which to try again (RFC 9110, 10.2.3). */
  readonly retryAfterSeconds?: number;
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
