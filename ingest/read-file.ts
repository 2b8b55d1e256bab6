import { createHash } from 'node:crypto';
import { once } from 'node:events';
import { type FileHandle, open } from 'node:fs/promises';
import { createGunzip } from 'node:zlib';
import { LoadError } from './load-error.ts';

/** Bytes read from the disk at a time. */
const CHUNK_BYTES = 256 * 1024;
/** Compressed bytes unpacked at a time; deflate can blow them up a thousandfold, and that must fit in memory. */
const COMPRESSED_CHUNK_BYTES = 16 * 1024;

/** A run of the file's bytes, unpacked where it is compressed. */
export type FileChunk = {
  readonly bytes: Uint8Array;
  /** Bytes of the file as it lies that have been read so far. */
  readonly readBytes: number;
  /** Set on the last chunk of a damaged gzip file: what could be unpacked before it broke off. */
  readonly damage?: string;
};

/**
 * The size of a file and the SHA-256 of its bytes as it lies.
 *
 * @throws LoadError when it cannot be read.
 */
export async function fingerprintFile(path: string): Promise<{ readonly sizeBytes: number; readonly sha256: string }> {
  const hash = createHash('sha256');
  let sizeBytes = 0;
  await withFile(path, async (file) => {
    for await (const chunk of rawChunks(file, CHUNK_BYTES)) {
      hash.update(chunk);
      sizeBytes += chunk.length;
    }
  });
  return { sizeBytes, sha256: hash.digest('hex') };
}

/**
 * The bytes of a file in order; gzip is known by its first two bytes (RFC 1952) and unpacked. The bytes of a chunk are
 * only good until the next one is asked for.
 *
 * @throws LoadError when the file cannot be read. A gzip file that breaks off is no error: see {@link FileChunk.damage}.
 */
export async function* readFileChunks(path: string): AsyncGenerator<FileChunk> {
  const file = await openFile(path);
  try {
    const magic = Buffer.alloc(2);
    const { bytesRead } = await file.read(magic, 0, 2, 0);
    if (bytesRead === 2 && magic[0] === 0x1f && magic[1] === 0x8b) {
      yield* unpackedChunks(file);
      return;
    }
    let readBytes = 0;
    for await (const bytes of rawChunks(file, CHUNK_BYTES)) {
      readBytes += bytes.length;
      yield { bytes, readBytes };
    }
  } finally {
    await file.close();
  }
}

async function* rawChunks(file: FileHandle, chunkBytes: number): AsyncGenerator<Uint8Array> {
  const buffer = Buffer.alloc(chunkBytes);
  let position = 0;
  for (;;) {
    const { bytesRead } = await file.read(buffer, 0, chunkBytes, position);
    if (bytesRead === 0) return;
    position += bytesRead;
    yield buffer.subarray(0, bytesRead);
  }
}

// Chunk by chunk instead of a pipe: when a pipe breaks, what it has already unpacked is thrown away with it.
async function* unpackedChunks(file: FileHandle): AsyncGenerator<FileChunk> {
  const gunzip = createGunzip();
  const unpacked: Uint8Array[] = [];
  let damage: string | undefined;
  gunzip.on('data', (bytes: Uint8Array) => unpacked.push(bytes));
  gunzip.on('error', (error: Error) => {
    damage = error.message;
  });
  let readBytes = 0;
  const given = function* (): Generator<FileChunk> {
    for (const bytes of unpacked.splice(0)) yield { bytes, readBytes };
  };
  try {
    for await (const bytes of rawChunks(file, COMPRESSED_CHUNK_BYTES)) {
      readBytes += bytes.length;
      await new Promise<void>((resolve) => {
        gunzip.once('error', () => resolve());
        gunzip.write(Buffer.from(bytes), () => resolve());
      });
      gunzip.removeAllListeners('error');
      gunzip.on('error', (error: Error) => {
        damage = error.message;
      });
      yield* given();
      if (damage !== undefined) break;
    }
    if (damage === undefined) {
      gunzip.end();
      await once(gunzip, 'end').catch((error: unknown) => {
        damage = error instanceof Error ? error.message : String(error);
      });
    }
    yield* given();
    if (damage !== undefined) yield { bytes: new Uint8Array(), readBytes, damage };
  } finally {
    gunzip.destroy();
  }
}

async function withFile(path: string, use: (file: FileHandle) => Promise<void>): Promise<void> {
  const file = await openFile(path);
  try {
    await use(file);
  } finally {
    await file.close();
  }
}

async function openFile(path: string): Promise<FileHandle> {
  try {
    const file = await open(path, 'r');
    if (!(await file.stat()).isFile()) {
      await file.close();
      throw new LoadError(
        'file_unreadable',
        `${path} is no file; name a log file, or the files of a folder one by one.`,
      );
    }
    return file;
  } catch (error) {
    if (error instanceof LoadError) throw error;
    const code = error instanceof Error && 'code' in error ? error.code : undefined;
    const why =
      code === 'ENOENT'
        ? 'does not exist; check the path'
        : code === 'EACCES'
          ? 'may not be read by this user; change its permissions'
          : `cannot be read (${String(code)})`;
    throw new LoadError('file_unreadable', `${path} ${why}.`, { cause: error });
  }
}
