import type { IncomingMessage } from 'node:http';
import type { Readable } from 'node:stream';
import { createGunzip } from 'node:zlib';
import type { Clock } from './clock.ts';
import { PushRefusal, TOO_MUCH } from './push-problem.ts';

/** Largest body as it is sent. */
export const BODY_BYTES_MAX = 8 * 2 ** 20;
/** Largest body after gzip is undone; some kilobytes can otherwise unfold into gigabytes. */
export const INFLATED_BYTES_MAX = 32 * 2 ** 20;

/**
 * Reads the body of a request, within bounds of size and time.
 *
 * @param p.timeoutMs - From now to the last byte.
 * @param p.claim - Asked before bytes are kept; false while the source has as many under way as it may.
 * @throws PushRefusal 429 when a claim fails, 413 when it is too large, 408 when it comes too slowly, 400 when gzip cannot be undone or the sender
 *   breaks off, 415 for another content coding.
 */
export async function readBody(
  request: IncomingMessage,
  p: { clock: Clock; timeoutMs: number; claim: (bytes: number) => boolean },
): Promise<Buffer> {
  const coding = (request.headers['content-encoding'] ?? 'identity').toLowerCase();
  if (coding !== 'identity' && coding !== 'gzip') {
    throw new PushRefusal({
      status: 415,
      title: 'Content coding not known',
      detail: 'Send the body as it is, or packed with gzip.',
    });
  }
  if (Number(request.headers['content-length'] ?? 0) > BODY_BYTES_MAX) throw tooLarge(BODY_BYTES_MAX, 'as sent');
  return new Promise<Buffer>((resolve, reject) => {
    const source: Readable = coding === 'gzip' ? request.pipe(createGunzip()) : request;
    const chunks: Buffer[] = [];
    let sentBytes = 0;
    let bytes = 0;
    const finish = (end: () => void) => {
      cancel();
      request.off('data', countSent);
      request.off('aborted', onAborted);
      if (source !== request) {
        request.unpipe();
        source.destroy();
      }
      end();
    };
    const refuse = (refusal: PushRefusal) => finish(() => reject(refusal));
    const cancel = p.clock.after(p.timeoutMs, () =>
      refuse(
        new PushRefusal({
          status: 408,
          title: 'Too slow',
          detail: `The body did not come within ${p.timeoutMs / 1000} s; send less at a time.`,
        }),
      ),
    );
    const countSent = (chunk: Buffer) => {
      sentBytes += chunk.length;
      if (sentBytes > BODY_BYTES_MAX) refuse(tooLarge(BODY_BYTES_MAX, 'as sent'));
    };
    const onAborted = () =>
      refuse(new PushRefusal({ status: 400, title: 'Broken off', detail: 'The sender broke off.' }));
    request.on('data', countSent);
    request.on('aborted', onAborted);
    source.on('data', (chunk: Buffer) => {
      bytes += chunk.length;
      if (bytes > INFLATED_BYTES_MAX) refuse(tooLarge(INFLATED_BYTES_MAX, 'unpacked'));
      else if (p.claim(chunk.length)) chunks.push(chunk);
      else refuse(new PushRefusal(TOO_MUCH));
    });
    source.on('end', () => finish(() => resolve(Buffer.concat(chunks))));
    source.on('error', () =>
      refuse(
        new PushRefusal({
          status: 400,
          title: 'Body not readable',
          detail: 'The body says it is gzip and cannot be unpacked; pack it anew.',
        }),
      ),
    );
  });
}

function tooLarge(limitBytes: number, how: string): PushRefusal {
  return new PushRefusal({
    status: 413,
    title: 'Too large',
    detail: `The body may have ${limitBytes / 2 ** 20} MiB ${how}; send it in parts.`,
  });
}
