import { createHash } from 'node:crypto';
import fastify, { type FastifyError, type FastifyInstance } from 'fastify';
import { hasZodFastifySchemaValidationErrors, serializerCompiler, validatorCompiler } from 'fastify-type-provider-zod';
import type { FleetFile } from '../../schemas/fleet-file.ts';
import type { HistoryPort } from '../../storage/history/port.ts';
import type { LogPort } from '../../storage/log/port.ts';
import { PortError } from '../../storage/port-error.ts';
import { problemPage } from '../../web/problem-page.ts';
import { STYLE_SHEET } from '../../web/style.ts';
import { ALERTS_GROUP } from '../tasks.ts';
import { addApiRoutes } from './api-routes.ts';
import { createFindingsView } from './findings-view.ts';
import { parseForm } from './form-entries.ts';
import { addPageRoutes, frameOf } from './page-routes.ts';
import { type Problem, sendProblem } from './problem.ts';
import { guardRequests } from './request-guards.ts';
import type { Sources } from './views.ts';

/** Largest body of a request: a closing form with a long note has room, a flood has not. */
const BODY_BYTES_MAX = 64 * 1024;

/** What the server is made of. */
export type AppParts = {
  readonly log: LogPort;
  readonly history: HistoryPort;
  readonly fleet: FleetFile;
  /** Time now, ms since 1970 UTC; stands in the history of what people do. */
  readonly clock: () => number;
  /** Awaited after every change of a task that was recorded, before the answer goes out. */
  readonly afterAction?: () => Promise<void>;
  /** Told of failures that a reader only hears of as "try again"; writes them to standard error when left out. */
  readonly onError?: (error: Error) => void;
  /** Names besides `localhost` under which the server is reached; addresses always work. */
  readonly hostNames?: readonly string[];
};

/** The planner's pages and the interface for programs, ready to `listen` or `inject`. */
export function createApp(parts: AppParts): FastifyInstance {
  const app = fastify({ bodyLimit: BODY_BYTES_MAX, routerOptions: { maxParamLength: 300 } });
  app.setValidatorCompiler(validatorCompiler);
  app.setSerializerCompiler(serializerCompiler);
  app.removeAllContentTypeParsers();
  app.addContentTypeParser(
    'application/x-www-form-urlencoded',
    { parseAs: 'string' },
    async (_request: unknown, body: string) => parseForm(body),
  );
  const sources: Sources = {
    log: parts.log,
    history: parts.history,
    fleet: parts.fleet,
    clock: parts.clock,
    findings: createFindingsView(parts.log),
  };
  const styleHref = `/style-${createHash('sha256').update(STYLE_SHEET).digest('hex').slice(0, 12)}.css`;
  const onError = parts.onError ?? writeError;
  const afterAction = async () => {
    try {
      await parts.afterAction?.();
    } catch (error) {
      // The change itself is recorded; the reader must not be told otherwise.
      onError(error instanceof Error ? error : new Error(String(error)));
    }
  };
  const options = { sources, styleHref, afterAction };

  guardRequests(app, { hostNames: parts.hostNames ?? [] });
  app.get(styleHref, async (_request, reply) =>
    reply
      .type('text/css; charset=utf-8')
      .header('cache-control', 'public, max-age=31536000, immutable')
      .send(STYLE_SHEET),
  );
  addPageRoutes(app, options);
  addApiRoutes(app, sources);
  addHealthRoutes(app, sources);
  answerFailures(app, { ...options, onError });
  return app;
}

function writeError(error: Error): void {
  process.stderr.write(`${error.stack ?? error.message}\n`);
}

function addHealthRoutes(app: FastifyInstance, { log, history, fleet }: Sources): void {
  app.get('/healthz', async () => ({ status: 'alive' }));
  app.get('/readyz', async (_request, reply) => {
    try {
      const waiting = await log.lag({ group: ALERTS_GROUP, topics: ['findings'] });
      await history.extent({ unit: fleet.units[0]?.id ?? '' });
      return { status: 'ready', findingsWaiting: waiting };
    } catch (error) {
      if (!(error instanceof PortError)) throw error;
      return sendProblem(reply, {
        status: 503,
        title: 'Not ready',
        detail: `The ${error.port} does not answer (${error.code}).`,
      });
    }
  });
}

function answerFailures(
  app: FastifyInstance,
  p: { sources: Sources; styleHref: string; onError: (error: Error) => void },
): void {
  const wantsPage = (url: string, acceptHeader: string | undefined) =>
    !url.startsWith('/api/') && (acceptHeader ?? '').includes('text/html');
  app.setNotFoundHandler((request, reply) => {
    const problem = {
      status: 404,
      title: 'Nothing here',
      detail: 'There is no page at this address; start from the list of tasks.',
    };
    if (!wantsPage(request.url, request.headers.accept)) return sendProblem(reply, problem);
    return reply
      .code(404)
      .type('text/html; charset=utf-8')
      .send(problemPage({ ...frameOf(p, request), path: '/' }, problem));
  });
  app.setErrorHandler((error: FastifyError, request, reply) => {
    const problem = problemOfError(error);
    if (problem.status >= 500) p.onError(error);
    if (!wantsPage(request.url, request.headers.accept)) return sendProblem(reply, problem);
    return reply
      .code(problem.status)
      .type('text/html; charset=utf-8')
      .send(problemPage({ ...frameOf(p, request), path: '/' }, problem));
  });
}

function problemOfError(error: FastifyError): Problem {
  if (hasZodFastifySchemaValidationErrors(error)) {
    const errors = error.validation.map(({ instancePath, message }) => ({
      field: instancePath.replace(/^\//, ''),
      detail: message ?? 'is not as it should be',
    }));
    const detail = errors.map(({ field, detail: words }) => `${field === '' ? 'request' : field}: ${words}`).join('; ');
    return { status: 400, title: 'Request not understood', detail, errors };
  }
  if (error instanceof PortError) {
    return {
      status: 503,
      title: 'Store not available',
      detail: 'The log or history does not answer. Nothing was recorded; try again shortly.',
    };
  }
  const status = error.statusCode ?? 500;
  if (status < 500) return { status, title: 'Request not understood', detail: error.message };
  return {
    status: 500,
    title: 'Fault in the server',
    detail: 'Something failed here. Nothing was recorded unless the task shows it; the log of the server says more.',
  };
}
