/** Longest raw text that a dead letter keeps. */
export const RAW_TEXT_MAX = 2000;

const strict = new TextDecoder('utf-8', { fatal: true, ignoreBOM: true });

/**
 * Bytes as text for a person: UTF-8 where it is UTF-8, every other byte and every control byte but the tab as `\xNN`.
 *
 * @returns At most {@link RAW_TEXT_MAX} characters.
 */
export function rawText(bytes: Uint8Array): string {
  const cut = bytes.subarray(0, wholeCharacters(bytes));
  const text = utf8Text(cut) ?? [...cut].map((byte) => (byte < 0x80 ? String.fromCharCode(byte) : hex(byte))).join('');
  let shown = '';
  for (const character of text) {
    const code = character.codePointAt(0) ?? 0;
    const next = (code < 0x20 && code !== 9) || code === 0x7f ? hex(code) : character;
    if (shown.length + next.length > RAW_TEXT_MAX) break;
    shown += next;
  }
  return shown;
}

/** Bytes as UTF-8 text; `undefined` when they are not UTF-8. */
export function utf8Text(bytes: Uint8Array): string | undefined {
  try {
    return strict.decode(bytes);
  } catch {
    return undefined;
  }
}

function hex(byte: number): string {
  return `\\x${byte.toString(16).padStart(2, '0')}`;
}

// Not to cut a character in two: bytes 10xxxxxx go on with one that began before.
function wholeCharacters(bytes: Uint8Array): number {
  if (bytes.length <= RAW_TEXT_MAX) return bytes.length;
  let end = RAW_TEXT_MAX;
  while (end > RAW_TEXT_MAX - 4 && ((bytes[end] as number) & 0xc0) === 0x80) end -= 1;
  return end;
}
