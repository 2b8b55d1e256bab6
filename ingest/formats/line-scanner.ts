import { appendBytes, createByteWindow } from './byte-window.ts';
import { RECORD_MAX_BYTES } from './csv-record.ts';

/** What takes the lines. The bytes are good during the call only; `bytes[end]` is readable and below the blank. */
export type LineReader = {
  line(bytes: Uint8Array, start: number, end: number): void;
  /** A line beyond 64 KiB: its beginning. */
  tooLong(bytes: Uint8Array, start: number, end: number): void;
  /** Whether nothing more is to be read. */
  isStopped(): boolean;
};

/** Cuts bytes into lines at LF, wherever the chunks were cut. A CR before it belongs to the line; blank lines are passed over. */
export function createLineScanner(reader: LineReader): { push(chunk: Uint8Array): void; finish(): void } {
  const window = createByteWindow();
  // Behind the beginning of a line that is too long, up to its end.
  let isDropping = false;
  const scan = (isLast: boolean): void => {
    while (window.start < window.end && !reader.isStopped()) {
      const { bytes, start } = window;
      const last = window.end;
      let end = start;
      // Lines are short: a loop is quicker than a call of indexOf.
      while (end < last && bytes[end] !== 0x0a) end += 1;
      const isWhole = end < last;
      const isTooLong = end - start > RECORD_MAX_BYTES;
      if (!isWhole && !isLast && !isTooLong && !isDropping) return;
      window.start = isWhole ? end + 1 : end;
      if (isDropping) isDropping = !isWhole;
      else if (isTooLong) {
        isDropping = !isWhole;
        reader.tooLong(bytes, start, end);
      } else if (!isBlank(bytes, start, end)) reader.line(bytes, start, end);
    }
  };
  return {
    push(chunk) {
      if (reader.isStopped()) return;
      appendBytes(window, chunk);
      scan(false);
    },
    finish: () => scan(true),
  };
}

function isBlank(bytes: Uint8Array, start: number, end: number): boolean {
  let at = start;
  while (at < end && (bytes[at] as number) <= 0x20) at += 1;
  return at === end;
}
