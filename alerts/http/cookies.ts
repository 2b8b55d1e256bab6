import type { FastifyReply, FastifyRequest } from 'fastify';

const YEAR_SECONDS = 365 * 24 * 3600;

/** Cookies of a request by name (RFC 6265); one that cannot be read is left out. */
export function readCookies(request: FastifyRequest): Readonly<Record<string, string>> {
  const cookies: Record<string, string> = {};
  for (const pair of (request.headers.cookie ?? '').split(';')) {
    const at = pair.indexOf('=');
    if (at < 0) continue;
    try {
      cookies[pair.slice(0, at).trim()] = decodeURIComponent(pair.slice(at + 1).trim());
    } catch (error) {
      // A mangled cookie only loses a convenience: a colour choice or a prefilled name.
      if (!(error instanceof URIError)) throw error;
    }
  }
  return cookies;
}

/** Remembers a convenience of the reader for a year; no secret is ever kept in a cookie. */
export function setCookie(reply: FastifyReply, p: { name: 'theme' | 'who'; value: string }): void {
  reply.header(
    'set-cookie',
    `${p.name}=${encodeURIComponent(p.value)}; Path=/; Max-Age=${YEAR_SECONDS}; SameSite=Lax; HttpOnly`,
  );
}
