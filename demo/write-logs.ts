import { once } from 'node:events';
import { createWriteStream } from 'node:fs';
import { mkdir } from 'node:fs/promises';
import { join } from 'node:path';
import { finished } from 'node:stream/promises';
import { createGzip } from 'node:zlib';
import { assert } from '../schemas/assert.ts';
import { DAY_MS, DEMO_DAYS, DEMO_START_MS } from './calendar.ts';
import { LOG_FORMS } from './log-form-table.ts';
import type { LogForm } from './log-forms.ts';
import { DEMO_SEED, DEMO_UNITS } from './scenario.ts';
import { simulateUnit } from './simulate-unit.ts';
import type { UnitPlan } from './unit-plan.ts';
import { createCandumpText } from './write-candump.ts';
import { createCsvText, type LogText } from './write-csv.ts';

export { demoFleetYaml } from './fleet-yaml.ts';

/** How far the writing of the demonstration's logs has come. */
export type DemoProgress = {
  readonly unit: string;
  /** Days written of this unit, and unit-days written and wanted in all. */
  readonly unitDays: number;
  readonly doneUnitDays: number;
  readonly allUnitDays: number;
};

/**
 * Writes the logs of the invented fleet as gzipped files, one a unit and month. The same seed writes the same rows.
 * Memory holds one unit and day.
 *
 * @param p.folder - Made if it is not there. Files of the same name are replaced.
 * @param p.days - Counted from the first day; all 120 when left out.
 * @param p.units - Ids of the units to write; all when left out.
 * @param p.seed - Another seed gives another history with the same faults.
 * @returns Paths of the files written, and how many samples they hold.
 * @throws Error of the file system, when it refuses; whatever `onProgress` throws, which stops the writing.
 */
export async function writeDemoLogs(p: {
  folder: string;
  onProgress?: (progress: DemoProgress) => void;
  days?: number;
  units?: readonly string[];
  seed?: number;
}): Promise<{ files: string[]; samples: number }> {
  const days = Math.min(p.days ?? DEMO_DAYS, DEMO_DAYS);
  const plans = DEMO_UNITS.filter((plan) => p.units === undefined || p.units.includes(plan.id));
  await mkdir(p.folder, { recursive: true });
  const files: string[] = [];
  let samples = 0;
  let doneUnitDays = 0;
  for (const plan of plans) {
    const form = LOG_FORMS[plan.id];
    assert(form !== undefined, `${plan.id} has a form of log`);
    const text = form.form === 'j1939_candump' ? createCandumpText(plan, form) : createCsvText(plan, form);
    let file: LogFile | undefined;
    try {
      for (const day of simulateUnit(plan, { startMs: DEMO_START_MS, days, seed: p.seed ?? DEMO_SEED })) {
        const path = join(p.folder, fileName(plan, form, DEMO_START_MS + day.day * DAY_MS));
        if (file?.path !== path) {
          await file?.close();
          file = openLog(path, text);
          files.push(path);
        }
        if (day.count > 0) await file.write(text.day(day));
        samples += day.count;
        doneUnitDays += 1;
        p.onProgress?.({ unit: plan.id, unitDays: day.day + 1, doneUnitDays, allUnitDays: plans.length * days });
      }
      await file?.close();
    } catch (error) {
      file?.abandon();
      throw error;
    }
  }
  return { files, samples };
}

function fileName(plan: UnitPlan, form: LogForm, timeMs: number): string {
  const month = new Date(timeMs).toISOString().slice(0, 7);
  return `${plan.id}_${month}.${form.form === 'j1939_candump' ? 'log' : 'csv'}.gz`;
}

type LogFile = {
  readonly path: string;
  readonly write: (text: string) => Promise<void>;
  readonly close: () => Promise<void>;
  /** Lets go of the file as it is, for when the writing has failed or was stopped. */
  readonly abandon: () => void;
};

/** Compression level 3: three times as fast as the default for files a tenth larger. */
function openLog(path: string, text: LogText): LogFile {
  const gzip = createGzip({ level: 3 });
  const disk = createWriteStream(path);
  const ended = finished(gzip.pipe(disk));
  // A full disk must fail the next write, not only the last close.
  ended.catch((error: unknown) => gzip.destroy(error instanceof Error ? error : new Error(String(error))));
  const write = async (rows: string): Promise<void> => {
    if (!gzip.write(rows)) await Promise.race([once(gzip, 'drain'), ended]);
  };
  const head = text.head();
  if (head !== '') gzip.write(head);
  return {
    path,
    write,
    close: async () => {
      gzip.end();
      await ended;
    },
    abandon: () => {
      gzip.destroy();
      disk.destroy();
    },
  };
}
