import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, test } from 'vitest';
import { EXAMPLE_FLEET } from './example-fleet.ts';
import { type FleetFault, faultLine, readFleetFile, readFleetText } from './read-fleet-file.ts';

/** The text of the example with one line changed; the line is found by its text, so numbers below are not copied. */
function changed(from: string, to: string): { text: string; line: number } {
  const index = EXAMPLE_FLEET.indexOf(from);
  expect(index, `the example holds "${from}"`).toBeGreaterThanOrEqual(0);
  const text = EXAMPLE_FLEET.slice(0, index) + to + EXAMPLE_FLEET.slice(index + from.length);
  return { text, line: EXAMPLE_FLEET.slice(0, index).split('\n').length };
}

function faultsOf(text: string): readonly FleetFault[] {
  const checked = readFleetText({ text, file: 'fleet.yaml' });
  return checked.ok ? [] : checked.faults;
}

describe('readFleetText', () => {
  test('the example fleet holds as it stands', () => {
    const checked = readFleetText({ text: EXAMPLE_FLEET, file: 'fleet.yaml' });
    expect(checked.ok ? [] : checked.faults.map(faultLine)).toEqual([]);
  });

  test('several faults come in the order of their lines', () => {
    const text = EXAMPLE_FLEET.replace('strokes: 4', 'strokes: 5')
      .replace('cooler: seawater', 'cooler: none')
      .replace('kind: road', 'kind: car');
    const lines = faultsOf(text).map((fault) => fault.line);
    expect(lines).toHaveLength(3);
    expect(lines).toEqual([...lines].sort((a, b) => a - b));
  });

  test('a key written twice is refused at the second', () => {
    const { text, line } = changed('      strokes: 4', '      strokes: 4\n      strokes: 2');
    expect(faultsOf(text)).toMatchObject([{ line: line + 1, detail: expect.stringContaining('unique') }]);
  });

  test('broken YAML is refused at its line', () => {
    const { text, line } = changed('    name: Truck 07', '\tname: Truck 07');
    expect(faultsOf(text)[0]).toMatchObject({ line, detail: expect.stringContaining('is not YAML') });
  });

  test('a fault below an anchor is shown where the anchor stands', () => {
    const anchored = changed('    engine:\n      ratedPowerKw: 340', '    engine: &engine\n      ratedPowerKw: none');
    expect(faultsOf(anchored.text)).toMatchObject([{ line: anchored.line + 1, field: 'units[0].engine.ratedPowerKw' }]);
  });

  test('an alias without an anchor is refused', () => {
    expect(faultsOf('version: *nothing\n')[0]?.detail).toMatch(/nothing/);
  });

  test('aliases that unfold without end are refused rather than unfolded', () => {
    const levels = [
      'a: &a [x,x,x,x,x,x,x,x,x]',
      ...Array.from('bcdefgh', (name, i) => `${name}: &${name} [${Array(9).fill(`*${'abcdefg'[i]}`).join(',')}]`),
    ];
    expect(faultsOf(levels.join('\n'))[0]?.detail).toMatch(/alias/i);
  });

  test.each([
    ['nothing', ''],
    ['only a comment', '# fleet\n'],
    ['a single word', 'fleet'],
    ['a list', '- 1'],
    ['a log', 'time,rpm\n1,2\n'],
  ])('%s is refused with a sentence', (_name, text) => {
    const [fault] = faultsOf(text);
    expect(fault?.file).toBe('fleet.yaml');
    expect(fault?.detail.length).toBeGreaterThan(10);
  });
});

describe('readFleetFile', () => {
  test('a missing file, a folder and a file in order are told apart', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'chargeair-'));
    try {
      const path = join(folder, 'fleet.yaml');
      expect(await readFleetFile({ path })).toMatchObject({
        ok: false,
        faults: [{ line: 0, detail: expect.stringContaining('does not exist') }],
      });
      expect(await readFleetFile({ path: folder })).toMatchObject({
        ok: false,
        faults: [{ detail: expect.stringContaining('is a folder') }],
      });
      await writeFile(path, EXAMPLE_FLEET);
      expect((await readFleetFile({ path })).ok).toBe(true);
    } finally {
      await rm(folder, { recursive: true });
    }
  });
});
