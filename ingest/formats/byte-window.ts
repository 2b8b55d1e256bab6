/** Bytes that have arrived and are not yet read. `bytes[end]` is always readable and 0, so scanners need no bounds check. */
export type ByteWindow = {
  bytes: Uint8Array;
  /** First byte not yet read. */
  start: number;
  /** One past the last byte that has arrived. */
  end: number;
};

/** An empty window. */
export function createByteWindow(): ByteWindow {
  return { bytes: new Uint8Array(1), start: 0, end: 0 };
}

/**
 * Adds bytes behind those not yet read. What has been read is let go of, so the window holds one chunk and one record
 * at most.
 */
export function appendBytes(window: ByteWindow, chunk: Uint8Array): void {
  const kept = window.end - window.start;
  const needed = kept + chunk.length;
  if (needed + 1 > window.bytes.length) {
    const larger = new Uint8Array(needed + (needed >> 1) + 1);
    larger.set(window.bytes.subarray(window.start, window.end));
    window.bytes = larger;
  } else if (window.start > 0) {
    window.bytes.copyWithin(0, window.start, window.end);
  }
  window.bytes.set(chunk, kept);
  window.start = 0;
  window.end = needed;
  window.bytes[needed] = 0;
}
