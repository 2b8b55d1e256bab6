import { createHash, randomBytes, timingSafeEqual } from 'node:crypto';
import { appendFile, readFile, stat } from 'node:fs/promises';
import { LiveSourceError } from './live-source.ts';

/** Who a token belongs to. */
export type Tokens = {
  /** The source whose token it is; `undefined` when it is nobody's. Takes as long for a near miss as for a far one. */
  sourceOf(token: string): Promise<string | undefined>;
};

const TOKEN_BYTES = 32;
/** How often it is looked whether the file has changed, so that a token can be withdrawn while the server runs. */
const LOOK_EVERY_MS = 2000;
const LINE = /^([A-Za-z0-9][A-Za-z0-9._-]{0,99})[ \t]+([0-9a-f]{64})$/;

/** A new token and the line that stands for it in the tokens file; the token itself is kept nowhere. */
export function makeToken(source: string): { readonly token: string; readonly line: string } {
  const token = randomBytes(TOKEN_BYTES).toString('base64url');
  return { token, line: `${source} ${hashOf(token).toString('hex')}` };
}

/** Adds a line to a tokens file, which is made, for this user alone, where there is none. */
export async function addTokenLine(path: string, line: string): Promise<void> {
  await appendFile(path, `${line}\n`, { mode: 0o600 });
}

/**
 * The tokens of a file: one line a token, of a source's id and the SHA-256 of the token in hex; `#` begins a comment.
 *
 * @throws LiveSourceError when the file cannot be read or a line is none.
 */
export async function readTokens(path: string): Promise<Tokens> {
  let entries = await readEntries(path);
  let changedMs = (await stat(path)).mtimeMs;
  let lookedMs = performance.now();
  return {
    async sourceOf(token) {
      if (performance.now() - lookedMs > LOOK_EVERY_MS) {
        lookedMs = performance.now();
        const { mtimeMs } = await stat(path);
        if (mtimeMs !== changedMs) {
          entries = await readEntries(path);
          changedMs = mtimeMs;
        }
      }
      const hash = hashOf(token);
      let found: string | undefined;
      for (const entry of entries) if (timingSafeEqual(entry.hash, hash)) found = entry.source;
      return found;
    },
  };
}

type Entry = { readonly source: string; readonly hash: Buffer };

async function readEntries(path: string): Promise<readonly Entry[]> {
  let text: string;
  try {
    text = await readFile(path, 'utf8');
  } catch (error) {
    throw new LiveSourceError(
      `The tokens file ${path} cannot be read (${String(error)}); make a token with: chargeair listen --make-token SOURCE`,
      { cause: error },
    );
  }
  return text.split('\n').flatMap((raw, index) => {
    const line = raw.replace(/#.*$/, '').trim();
    if (line === '') return [];
    const [, source, hash] = LINE.exec(line) ?? [];
    if (source === undefined || hash === undefined) {
      throw new LiveSourceError(
        `${path}:${index + 1}: is not a source's id and the SHA-256 of its token; make the line with: chargeair listen --make-token SOURCE`,
      );
    }
    return [{ source, hash: Buffer.from(hash, 'hex') }];
  });
}

function hashOf(token: string): Buffer {
  return createHash('sha256').update(token).digest();
}
