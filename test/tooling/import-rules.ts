import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { cruise, type IConfiguration, type ICruiseResult } from 'dependency-cruiser';
import extractConfiguration from 'dependency-cruiser/config-utl/extract-depcruise-config';
import extractTSConfig from 'dependency-cruiser/config-utl/extract-ts-config';

const root = fileURLToPath(new URL('../../', import.meta.url));

/** The folders whose imports are under rules. */
export const ROOMS = ['schemas', 'storage', 'ingest', 'analysis', 'alerts', 'web', 'cli', 'demo', 'bench', 'test'];

/** The import rules as `.dependency-cruiser.mjs` states them. */
export async function importRules(): Promise<IConfiguration> {
  return (await extractConfiguration(join(root, '.dependency-cruiser.mjs'))) as IConfiguration;
}

/**
 * Reads the imports of a source tree and holds them against the rules.
 *
 * @param p.folder - The tree's top, absolute; its rooms are looked for in it.
 * @param p.rooms - Folders in it to read.
 */
export async function cruiseTree(p: { folder: string; rooms: readonly string[] }): Promise<ICruiseResult> {
  const rules = await importRules();
  const options = { ...rules.options, baseDir: p.folder, ruleSet: rules, validate: true };
  const tsConfig = extractTSConfig(join(root, 'tsconfig.json'));
  const result = await cruise([...p.rooms], options, undefined, { tsConfig });
  return result.output as ICruiseResult;
}
