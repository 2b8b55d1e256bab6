import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, afterEach, describe, expect, test, vi } from 'vitest';
import { CommandFault } from './command-fault.ts';
import { EXAMPLE_FLEET } from './example-fleet.ts';
import { choosePlace, demoLogFolder } from './place.ts';

const folder = mkdtempSync(join(tmpdir(), 'chargeair-place-'));
const fleetFile = join(folder, 'mine.yaml');
writeFileSync(fleetFile, EXAMPLE_FLEET);
afterAll(() => rmSync(folder, { recursive: true }));
afterEach(() => vi.unstubAllEnvs());

describe('choosePlace', () => {
  test('a fleet of its own keeps its data in .chargeair', async () => {
    expect(await choosePlace({ config: fleetFile })).toMatchObject({ fleetName: fleetFile, folder: '.chargeair' });
  });

  test('the demonstration keeps its data away from that of a real fleet', async () => {
    const place = await choosePlace({});
    expect(place.folder).toBe(join('.chargeair', 'demo'));
    expect(place.fleet.units.length).toBeGreaterThan(0);
  });

  test('a folder that is named holds for both', async () => {
    expect((await choosePlace({ data: 'd' })).folder).toBe('d');
    expect((await choosePlace({ data: 'd', config: fleetFile })).folder).toBe('d');
    expect(demoLogFolder({ data: 'd' })).toBe(join('d', 'demo'));
  });

  test('the environment names a folder and a fleet file where the options do not; empty names none', async () => {
    vi.stubEnv('CHARGEAIR_DATA', 'e');
    vi.stubEnv('CHARGEAIR_CONFIG', fleetFile);
    expect(await choosePlace({})).toMatchObject({ fleetName: fleetFile, folder: 'e' });
    vi.stubEnv('CHARGEAIR_DATA', '');
    expect((await choosePlace({})).folder).toBe('.chargeair');
  });

  test('a fleet file that does not hold ends the command with every fault', async () => {
    writeFileSync(
      join(folder, 'bad.yaml'),
      EXAMPLE_FLEET.replace('kind: depot', 'kind: shed').replace('strokes: 4', 'strokes: 5'),
    );
    const refused = choosePlace({ config: join(folder, 'bad.yaml') });
    await expect(refused).rejects.toBeInstanceOf(CommandFault);
    await expect(refused).rejects.toMatchObject({
      exitCode: 1,
      message: expect.stringMatching(/places\[0\]\.kind[\s\S]*\n[\s\S]*strokes/),
    });
  });
});
