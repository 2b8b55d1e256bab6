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

/** Whether a file name fits a pattern in which `*` stands for any run of characters. */
export function nameFits(pattern: string, name: string): boolean {
  const source = pattern.split('*').map((part) => part.replaceAll(/[\\^$.+?()[\]{}|]/g, '\\$&'));
  return new RegExp(`^${source.join('[^]*')}$`, 'i').test(name);
}
