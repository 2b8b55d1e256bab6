import { createHash } from 'node:crypto';
import { resolve } from 'node:path';
import fastify, { type FastifyInstance, type FastifyReply, type FastifyRequest } from 'fastify';
import type { LiveSources } from '../../schemas/live-sources.ts';
import type { PlacedReject } from '../formats/decoder.ts';
import { type LiveSetting, type LiveSource, LiveSourceError } from './live-source.ts';
import { type PushAnswer, pushAnswer } from './push-answer.ts';
import { readBody } from './push-body.ts';
import { createAnswerKeys } from './push-keys.ts';
import { type PushProblem, PushRefusal, RETRY_AFTER_SECONDS, TOO_MUCH } from './push-problem.ts';
import { pushContext, readParts } from './push-read.ts';
import { readTokens, type Tokens } from './push-tokens.ts';
import { addReceipts, createLiveSession, EMPTY_RECEIPT, type LiveSession, SessionClosed } from './session.ts';

type HttpSettings = NonNullable<LiveSources['http']>;

/** Where samples are sent to. */
export const PUSH_PATH = '/ingest/v1/samples';
/** From the last header to the last byte of a body. */
const BODY_TIMEOUT_MS = 30_000;
const HEADERS_TIMEOUT_MS = 10_000;
/** Requests of one source that are under way at once. */
export const REQUESTS_MAX = 64;
/** Bytes of their bodies, unpacked; bounds the memory that a sender can take. */
const BYTES_UNDER_WAY_MAX = 96 * 2 ** 20;
const CONNECTIONS_MAX = 1024;
/** How long open requests may take to end when the server stops. */
const DRAIN_MS = 5000;

/** What routes for pushed samples are made of. */
export type PushParts = LiveSetting & {
  readonly settings: HttpSettings;
  readonly tokens: Tokens;
  /** Left out, 30 s. */
  readonly bodyTimeoutMs?: number;
};

type Pushing = {
  readonly id: string;
  readonly units: readonly string[] | undefined;
  readonly session: LiveSession;
  requests: number;
  bytes: number;
};

/**
 * The route that takes pushed samples in, as a plugin, and how to end its sessions.
 *
 * A request is answered with 200 once what was accepted and what was refused is durable.
 */
export function createPushRoutes(p: PushParts): {
  readonly plugin: (app: FastifyInstance) => void;
  drain(): Promise<void>;
} {
  const sources = new Map<string, Pushing>(
    p.settings.sources.map(({ id, units }) => [
      id,
      {
        id,
        units,
        session: createLiveSession({ ...p, source: id, units: units ?? p.fleet.units.map((unit) => unit.id) }),
        requests: 0,
        bytes: 0,
      },
    ]),
  );
  const answers = createAnswerKeys<PushAnswer>(p.clock);
  let isDraining = false;

  // Before the body: who has no token cannot make the server read anything.
  const senderOf = async (request: FastifyRequest): Promise<Pushing> => {
    if (isDraining) throw unavailable('The server is being stopped.');
    const [, token] = /^Bearer ([A-Za-z0-9._~+/-]{1,256}=*)$/i.exec(request.headers.authorization ?? '') ?? [];
    const id = token === undefined ? undefined : await p.tokens.sourceOf(token);
    const source = id === undefined ? undefined : sources.get(id);
    if (source === undefined) {
      throw new PushRefusal({
        status: 401,
        title: 'Not known',
        detail: 'Send Authorization: Bearer and the token of this source; chargeair listen --make-token makes one.',
      });
    }
    return source;
  };

  const takeIn = async (source: Pushing, request: FastifyRequest, body: Buffer): Promise<PushAnswer> => {
    const context = pushContext({ fleet: p.fleet, units: source.units, nowMs: p.clock.now() });
    const type = (request.headers['content-type'] ?? '').split(';')[0]?.trim().toLowerCase() ?? '';
    const { rule } = request.query as { rule?: unknown };
    const named: PlacedReject[] = [];
    const waiting: ReturnType<LiveSession['take']>[] = [];
    for (const { batch, format, fingerprint } of readParts({
      type,
      body,
      rule: typeof rule === 'string' ? rule : undefined,
      context,
    })) {
      await source.session.room();
      for (const reject of batch.rejects) if (named.length < 100) named.push(reject);
      const taken = source.session.take({ batch, name: `http:${source.id}`, format, fingerprint });
      // Looked at below, all together; until then a failure must not count as nobody's.
      taken.catch(() => {});
      waiting.push(taken);
    }
    const receipts = await Promise.all(waiting);
    return pushAnswer(receipts.reduce(addReceipts, EMPTY_RECEIPT), named);
  };

  const handle = async (request: FastifyRequest, reply: FastifyReply): Promise<FastifyReply> => {
    const source = await senderOf(request);
    if (source.requests >= REQUESTS_MAX || !source.session.hasRoom()) throw new PushRefusal(TOO_MUCH);
    source.requests += 1;
    let claimed = 0;
    const claim = (bytes: number) => {
      if (source.bytes + bytes > BYTES_UNDER_WAY_MAX) return false;
      source.bytes += bytes;
      claimed += bytes;
      return true;
    };
    try {
      const timeoutMs = p.bodyTimeoutMs ?? BODY_TIMEOUT_MS;
      const body = await readBody(request.raw, { clock: p.clock, timeoutMs, claim });
      const key = request.headers['idempotency-key'];
      const work = () => takeIn(source, request, body);
      const fingerprint = createHash('sha256')
        .update(`${request.url}\0${request.headers['content-type']}\0`)
        .update(body)
        .digest('hex');
      const answer =
        typeof key === 'string'
          ? await answers.answer({ key: `${source.id}\0${key}`, fingerprint, work })
          : await work();
      if (answer.status === 200) return reply.code(200).send(answer.body);
      const problem = {
        title: 'All refused',
        detail: 'Nothing of it could be taken; the refusals say why. All are kept as dead letters.',
      };
      return reply
        .code(answer.status)
        .type('application/problem+json')
        .send(JSON.stringify({ status: answer.status, ...problem, ...answer.body }));
    } finally {
      source.requests -= 1;
      source.bytes -= claimed;
    }
  };

  return {
    plugin(app) {
      app.removeAllContentTypeParsers();
      // The body is read by hand, once it is known who sends it.
      app.addContentTypeParser('*', (_request, _payload, done) => done(null));
      app.setErrorHandler((error, request, reply) => sendProblem(request, reply, problemOf(error, p)));
      app.setNotFoundHandler((request, reply) =>
        sendProblem(request, reply, {
          status: 404,
          title: 'Nothing here',
          detail: `Samples are sent with POST to ${PUSH_PATH}.`,
        }),
      );
      app.post(PUSH_PATH, handle);
    },
    async drain() {
      isDraining = true;
      await Promise.all([...sources.values()].map(({ session }) => session.drain()));
    },
  };
}

/**
 * Listens for pushed samples as the settings say.
 *
 * @returns The running server, with the address it listens at.
 * @throws LiveSourceError when the tokens file cannot be read or the port cannot be had.
 */
export async function startHttpPush(
  p: LiveSetting & { settings: HttpSettings; bodyTimeoutMs?: number },
): Promise<LiveSource & { readonly url: string }> {
  const tokens = await readTokens(resolve(p.baseFolder, p.settings.tokensFile));
  const routes = createPushRoutes({ ...p, tokens });
  const app = fastify({
    forceCloseConnections: true,
    http: { headersTimeout: HEADERS_TIMEOUT_MS, connectionsCheckingInterval: 1000 },
  });
  app.server.maxConnections = CONNECTIONS_MAX;
  void app.register((scope, _options, done) => {
    routes.plugin(scope);
    done();
  });
  const { host, port } = p.settings;
  try {
    await app.listen({ host, port });
  } catch (error) {
    await routes.drain();
    throw new LiveSourceError(
      `No samples can be taken at ${host}:${port} (${String(error)}); name another port or address under live.http.`,
      { cause: error },
    );
  }
  const address = app.server.address();
  const chosen = typeof address === 'object' && address !== null ? address.port : port;
  const url = `http://${host.includes(':') ? `[${host}]` : host}:${chosen}${PUSH_PATH}`;
  p.say(`http: takes samples at ${url}.`);
  if (!['127.0.0.1', '::1', 'localhost'].includes(host)) {
    p.say(`http: tokens and samples cross the network readable for all at ${host}; put a proxy with TLS before it.`);
  }
  return {
    id: 'http',
    url,
    async stop() {
      await routes.drain();
      const cutOff = setTimeout(() => app.server.closeAllConnections(), DRAIN_MS);
      await app.close();
      clearTimeout(cutOff);
    },
  };
}

function problemOf(error: unknown, p: Pick<LiveSetting, 'say'>): PushProblem {
  if (error instanceof PushRefusal) return error.problem;
  if (error instanceof SessionClosed) return unavailable('The server is being stopped.').problem;
  const status = error instanceof Error && 'statusCode' in error ? Number(error.statusCode) : 500;
  if (status < 500)
    return { status, title: 'Request not understood', detail: error instanceof Error ? error.message : '' };
  p.say(`http: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}`);
  return unavailable(
    'What was sent could not be stored; nothing of it is in unless a later answer counts it as duplicate.',
  ).problem;
}

function unavailable(detail: string): PushRefusal {
  return new PushRefusal({
    status: 503,
    title: 'Not available',
    detail: `${detail} Send this again in a moment.`,
    retryAfterSeconds: RETRY_AFTER_SECONDS,
  });
}

function sendProblem(request: FastifyRequest, reply: FastifyReply, problem: PushProblem): FastifyReply {
  const { retryAfterSeconds, ...body } = problem;
  // What is left of the body is not read; the next request needs a connection of its own.
  if (!request.raw.complete) void reply.header('connection', 'close');
  if (retryAfterSeconds !== undefined) void reply.header('retry-after', String(retryAfterSeconds));
  if (problem.status === 401) void reply.header('www-authenticate', 'Bearer');
  return reply.code(problem.status).type('application/problem+json').send(JSON.stringify(body));
}
