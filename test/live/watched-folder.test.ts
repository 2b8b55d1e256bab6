import { appendFileSync, existsSync, mkdirSync, readdirSync, renameSync, utimesSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { afterEach, describe, expect, test } from 'vitest';
import { parse } from 'yaml';
import type { LiveSource } from '../../ingest/live/live-source.ts';
import { startWatchedFolder } from '../../ingest/live/watched-folder.ts';
import { loadFile } from '../../ingest/load-file.ts';
import type { FolderSource } from '../../schemas/live-sources.ts';
import { FLEET_YAML, liveFolder, liveSetting, rowsIn, testFleet, until } from './live-fleet.ts';

// Files and readings are invented; that a rename within a file system is one step is POSIX (IEEE 1003.1, rename).

const base = liveFolder();
const fleet = testFleet(parse(FLEET_YAML));
const cleanUp: (() => Promise<unknown>)[] = [];
let folders = 0;

afterEach(async () => {
  for (const step of cleanUp.splice(0).reverse()) await step();
});

function setUp(p: { settleSeconds?: number } = {}) {
  folders += 1;
  const folder = join(base, `drop-${folders}`);
  mkdirSync(folder);
  const setting = liveSetting({ fleet, folder: base, name: `folder-${folders}` });
  cleanUp.push(() => setting.log.close());
  const source: FolderSource = {
    id: 'drop',
    path: folder,
    settleSeconds: p.settleSeconds ?? 0.3,
    pollSeconds: 0.05,
    wholeOnArrival: ['.whole.csv'],
  };
  const start = async (): Promise<LiveSource> => {
    const running = await startWatchedFolder({ ...setting, source });
    cleanUp.push(() => running.stop());
    return running;
  };
  const isDone = (name: string) => existsSync(join(folder, 'done', name));
  return { ...setting, folder, start, isDone };
}

const table = (hour: number, rows = 3) =>
  [
    'time,unit,rpm,boost',
    ...Array.from({ length: rows }, (_, i) => `2026-03-01T0${hour}:00:0${i}Z,digger-1,${800 + i},0.5`),
    '',
  ].join('\n');

describe('a watched folder', () => {
  test('loads what is dropped, packed or not, and moves it; the same again is known', async () => {
    const { folder, start, log, said, isDone } = setUp();
    await start();
    writeFileSync(join(folder, 'digger-a.csv'), table(1));
    writeFileSync(join(folder, 'digger-b.csv.gz'), gzipSync(table(2)));
    await until(() => isDone('digger-a.csv') && isDone('digger-b.csv.gz'), 'both are done');
    expect(await rowsIn(log)).toHaveLength(6);
    writeFileSync(join(folder, 'digger-a.csv'), table(1));
    await until(() => isDone('2-digger-a.csv'), 'the second of the name is done, beside the first');
    expect(await rowsIn(log)).toHaveLength(6);
    expect(said.some((line) => line.includes('digger-b.csv.gz: 3 rows, 3 accepted'))).toBe(true);
  });

  test('leaves a file alone while it grows, and temporary names for good', async () => {
    const { folder, start, log, isDone } = setUp({ settleSeconds: 0.5 });
    await start();
    for (const name of [
      'digger-x.csv.part',
      'digger-x.csv.tmp',
      '.digger-x.csv',
      '~digger-x.csv',
      'digger-x.csv.filepart',
    ]) {
      writeFileSync(join(folder, name), table(5));
    }
    const [head = '', ...lines] = table(1, 9).split(/(?<=\n)/);
    writeFileSync(join(folder, 'digger-slow.csv'), head);
    for (const line of lines) {
      appendFileSync(join(folder, 'digger-slow.csv'), line);
      await new Promise((resolve) => setTimeout(resolve, 150));
      expect(isDone('digger-slow.csv')).toBe(false);
    }
    await until(() => isDone('digger-slow.csv'), 'it is done once it has settled');
    expect(await rowsIn(log)).toHaveLength(9);
    expect(readdirSync(folder).filter((name) => name.includes('digger-x'))).toHaveLength(5);
  });

  test('a file that is renamed into place is taken at once where the settings say that it is whole', async () => {
    const { folder, start, isDone } = setUp({ settleSeconds: 3600 });
    await start();
    writeFileSync(join(folder, 'digger-a.part'), table(1));
    renameSync(join(folder, 'digger-a.part'), join(folder, 'digger-a.whole.csv'));
    await until(() => isDone('digger-a.whole.csv'), 'it is done');
  });

  test('what cannot be loaded is set aside with a sentence, and holds nothing up', async () => {
    const { folder, start, said, isDone, failures } = setUp();
    await start();
    writeFileSync(join(folder, 'a-picture.png'), 'no log');
    writeFileSync(join(folder, 'digger-bad.csv'), 'when,what\n1,2\n');
    writeFileSync(join(folder, 'digger-good.csv'), table(1));
    await until(
      () => isDone('digger-good.csv') && existsSync(join(folder, 'refused', 'a-picture.png')),
      'both are dealt with',
    );
    await until(() => existsSync(join(folder, 'refused', 'digger-bad.csv')), 'the unreadable table is set aside');
    expect(said.some((line) => line.includes('a-picture.png is refused'))).toBe(true);
    expect(failures).toEqual([]);
  });

  test('a file that was loaded but not moved, as by a crash, is known and only moved', async () => {
    const { folder, start, log, isDone } = setUp();
    const path = join(folder, 'digger-a.csv');
    writeFileSync(path, table(1));
    await loadFile({ path, fleet, log, nowMs: Date.now() });
    await start();
    await until(() => isDone('digger-a.csv'), 'it is moved');
    expect(await rowsIn(log)).toHaveLength(3);
  });

  test('of two watchers one works, and the other takes over', async () => {
    const { folder, start, log, said, isDone, failures } = setUp();
    const first = await start();
    await start();
    expect(said.filter((line) => line.includes('another process watches'))).toHaveLength(1);
    for (let i = 0; i < 9; i += 1) writeFileSync(join(folder, `digger-${i}.csv`), table(i));
    await until(() => isDone('digger-8.csv'), 'the first loads them');
    expect(await rowsIn(log)).toHaveLength(27);
    await first.stop();
    writeFileSync(join(folder, 'digger-last.csv'), table(9));
    await until(() => isDone('digger-last.csv'), 'the second takes over');
    expect(failures).toEqual([]);
  });

  test('the lock of a process that died is taken, at once on this machine and after a while from another', async () => {
    const { folder, start, isDone } = setUp();
    writeFileSync(join(folder, '.chargeair-lock'), 'elsewhere 1 0\n');
    const old = new Date(Date.now() - 120_000);
    utimesSync(join(folder, '.chargeair-lock'), old, old);
    writeFileSync(join(folder, 'digger-a.csv'), table(1));
    await start();
    await until(() => isDone('digger-a.csv'), 'it is done');
  });

  test('a folder that is not there is said at the start', async () => {
    const setting = liveSetting({ fleet, folder: base, name: 'none' });
    cleanUp.push(() => setting.log.close());
    const source = { id: 'drop', path: 'no-such-folder', settleSeconds: 1, pollSeconds: 1, wholeOnArrival: [] };
    await expect(startWatchedFolder({ ...setting, source })).rejects.toThrow(/no-such-folder cannot be used/);
  });
});
