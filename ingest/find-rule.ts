import type { FleetFile } from '../schemas/fleet-file.ts';
import type { SourceRule } from '../schemas/source-rule.ts';
import { LoadError } from './load-error.ts';

/**
 * The source rule for a file name.
 *
 * @param name - Without its folder. A rule also fits the name without `.gz`.
 * @returns `undefined` when no rule fits.
 * @throws LoadError when several fit: it could not be told whose readings they are.
 */
export function findRule(fleet: FleetFile, name: string): SourceRule | undefined {
  const found = fleet.sources.filter(
    (rule) => nameFits(rule.files, name) || nameFits(rule.files, name.replace(/\.gz$/i, '')),
  );
  if (found.length > 1) {
    const ids = found.map((rule) => rule.id).join(', ');
    throw new LoadError(
      'rules_overlap',
      `${name} fits several source rules of the fleet file (${ids}); narrow their "files" patterns so that one is left.`,
    );
  }
  return found[0];
}

/** Whether a file name fits a pattern in which `*` stands for any run of characters. Case is not read. */
export function nameFits(pattern: string, name: string): boolean {
  const parts = pattern.toLowerCase().split('*');
  const text = name.toLowerCase();
  const first = parts[0] ?? '';
  const last = parts.at(-1) ?? '';
  if (parts.length === 1) return text === first;
  if (!text.startsWith(first) || text.length < first.length + last.length || !text.endsWith(last)) return false;
  // Each inner part at the first place it is found leaves the most room for those behind it.
  let at = first.length;
  for (const part of parts.slice(1, -1)) {
    const found = text.indexOf(part, at);
    if (found < 0) return false;
    at = found + part.length;
  }
  return at <= text.length - last.length;
}
