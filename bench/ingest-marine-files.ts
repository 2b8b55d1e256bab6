import { writeFileSync } from 'node:fs';

const START_MS = Date.UTC(2024, 0, 1);
/** Lines a second: a busy NMEA 2000 bus has some hundreds of messages. */
const LINES_PER_SECOND = 500;

/**
 * Writes a log of so many lines: the lines of a real one again and again, their times running on.
 *
 * @param p.time - How a time is written in this form.
 * @param p.pattern - Finds the time in a line; lines without one are left out.
 */
export function writeRepeatedLog(
  path: string,
  p: { text: string; lines: number; pattern: RegExp; time: (timeMs: number) => string },
): void {
  const parts = p.text.split('\n').flatMap((line) => {
    const found = p.pattern.exec(line);
    return found === null ? [] : [[line.slice(0, found.index), line.slice(found.index + found[0].length)] as const];
  });
  const pieces: string[] = [];
  for (let i = 0; i < p.lines; i += 1) {
    const [before, after] = parts[i % parts.length] ?? ['', ''];
    pieces.push(before + p.time(START_MS + (i * 1000) / LINES_PER_SECOND) + after);
  }
  writeFileSync(path, `${pieces.join('\n')}\n`);
}
