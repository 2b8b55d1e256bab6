import { isIP } from 'node:net';
import type { FastifyInstance } from 'fastify';
import { sendProblem } from './problem.ts';

/** Sent with every reply: nothing from elsewhere, no inline script or style, no framing, no guessing of types. */
const SECURITY_HEADERS = {
  'content-security-policy':
    "default-src 'none'; style-src 'self'; img-src 'self' data:; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
  'x-content-type-options': 'nosniff',
  'referrer-policy': 'same-origin',
  'cross-origin-opener-policy': 'same-origin',
  'cross-origin-resource-policy': 'same-origin',
} as const;

/**
 * Guards every request.
 *
 * The host must be an address, `localhost` or a stated name: a foreign name that was made to point here (DNS rebinding)
 * would else let any web page read and change tasks. A request that changes something must come from this server's own
 * pages, as `Sec-Fetch-Site` or `Origin` say; programs that send neither are no browsers and cannot be misled.
 * Strict-Transport-Security and upgrade-insecure-requests are left to a proxy with a certificate: over plain HTTP in an
 * engine room they would lock the pages out.
 *
 * @param p.hostNames - Names besides `localhost` under which the server is reached.
 */
export function guardRequests(app: FastifyInstance, p: { hostNames: readonly string[] }): void {
  app.addHook('onRequest', async (request, reply) => {
    reply.headers(SECURITY_HEADERS);
    if (!isOwnHost(request.headers.host ?? '', p.hostNames)) {
      return sendProblem(reply, {
        status: 421,
        title: 'Unknown host name',
        detail: 'Reach this server by its address or by localhost, or enter the name it is reached by in its settings.',
      });
    }
    const changes = request.method !== 'GET' && request.method !== 'HEAD';
    if (changes && !isOwnPage(request.headers)) {
      return sendProblem(reply, {
        status: 403,
        title: 'Sent from another site',
        detail: 'Changes are only taken from this server’s own pages. Open the task here and send it again.',
      });
    }
    return undefined;
  });
}

function isOwnHost(host: string, names: readonly string[]): boolean {
  const name = host
    .replace(/:\d+$/, '')
    .replace(/^\[(.*)\]$/, '$1')
    .toLowerCase();
  return name === 'localhost' || isIP(name) !== 0 || names.includes(name);
}

function isOwnPage(headers: { readonly [name: string]: string | string[] | undefined }): boolean {
  const site = headers['sec-fetch-site'];
  if (site !== undefined) return site === 'same-origin' || site === 'none';
  const origin = headers['origin'];
  if (origin === undefined) return true;
  const own = `http://${headers['host']}`;
  // Both through URL, which leaves out a default port on either side.
  return (
    typeof origin === 'string' &&
    URL.canParse(origin) &&
    URL.canParse(own) &&
    new URL(origin).host === new URL(own).host
  );
}
