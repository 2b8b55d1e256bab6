import type { FastifyReply } from 'fastify';
import type { Reject } from '../../schemas/reject.ts';

/** What went wrong with a request, after RFC 9457. */
export type Problem = {
  readonly status: number;
  readonly title: string;
  /** What is wrong and how to mend it. */
  readonly detail: string;
  readonly errors?: readonly { readonly field: string; readonly detail: string }[];
};

/** Sends a problem as `application/problem+json`; `type` is left at its default, `about:blank`. */
export function sendProblem(reply: FastifyReply, problem: Problem): FastifyReply {
  return reply.code(problem.status).header('content-type', 'application/problem+json').send(JSON.stringify(problem));
}

/** The problem that a refused action amounts to: no such task 404, a task that moved on 409, else 422. */
export function problemOf(reject: Reject): Problem {
  const errors = [{ field: reject.field, detail: reject.detail }];
  if (reject.field === 'task') return { status: 404, title: 'No such task', detail: reject.detail };
  if (reject.field === 'state') return { status: 409, title: 'The task has moved on', detail: reject.detail, errors };
  return { status: 422, title: 'Not recorded', detail: reject.detail, errors };
}
