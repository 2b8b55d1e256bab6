import { assert } from '../schemas/assert.ts';
import { LOG_UNITS, type LogForm } from './log-forms.ts';
import type { UnitDay } from './simulate-unit.ts';
import type { UnitPlan } from './unit-plan.ts';
import { fixed } from './write-number.ts';
import { createIsoTime, createLocalTime } from './write-time.ts';

export type CsvForm = Exclude<LogForm, { form: 'j1939_candump' }>;

/** Writes the log of one unit as text: `head` opens each file, `day` gives the rows of a day. */
export type LogText = {
  readonly head: () => string;
  readonly day: (day: UnitDay) => string;
};

type Cell = {
  readonly column: Float64Array;
  readonly scale: number;
  readonly offset: number;
  readonly decimals: 0 | 1 | 2 | 3;
  readonly baseline: Float64Array | undefined;
};

/** Creates the writer of a wide or long table in the form of this unit's logger. */
export function createCsvText(plan: UnitPlan, form: CsvForm): LogText {
  const time = timeWriter(form);
  const long = form.form === 'csv_long';
  const head = (): string => {
    const names = long
      ? [form.timeHeader, 'channel', 'value', 'unit']
      : [form.timeHeader, ...form.columns.map((c) => c.header)];
    return `${form.byteOrderMark ? '\ufeff' : ''}${[...form.preamble, names.join(form.delimiter)].join(form.lineEnd)}${form.lineEnd}`;
  };
  return {
    head,
    day: (day) => {
      const cells = cellsOf(plan, form, day);
      const parts: string[] = [];
      const row = long
        ? (i: number) => longRow(form, cells, time(day.timesMs[i] as number), i)
        : (i: number) => wideRow(form, cells, time(day.timesMs[i] as number), i);
      for (let i = 0; i < day.count; i += 1) parts.push(row(i));
      addAwkwardRows(plan, form, day, parts);
      return parts.join('');
    },
  };
}

function cellsOf(plan: UnitPlan, form: CsvForm, day: UnitDay): Cell[] {
  const columnOf = (key: string): Float64Array | undefined =>
    day.columns[plan.sensors.findIndex((fit) => fit.key === key)];
  return form.columns.map(({ key, unit, decimals, reference }) => {
    const column = columnOf(key);
    assert(column !== undefined, `${plan.id} has the sensor ${key} that its log shows`);
    const baseline =
      reference === 'absolute' && key !== 'barometricPressure' ? columnOf('barometricPressure') : undefined;
    return { column, ...LOG_UNITS[unit], decimals, baseline };
  });
}

function wideRow(form: CsvForm, cells: readonly Cell[], time: string, i: number): string {
  let text = time;
  for (const cell of cells) text += form.delimiter + valueText(form, cell, i);
  return text + form.lineEnd;
}

function longRow(form: CsvForm, cells: readonly Cell[], time: string, i: number): string {
  let text = '';
  cells.forEach((cell, index) => {
    const value = valueText(form, cell, i);
    const { header, unit } = form.columns[index] ?? { header: '', unit: '' };
    if (value !== form.notAvailable)
      text += `${time}${form.delimiter}${header}${form.delimiter}${value}${form.delimiter}${unit}${form.lineEnd}`;
  });
  return text;
}

function valueText(form: CsvForm, cell: Cell, i: number): string {
  const value = (cell.column[i] as number) + (cell.baseline === undefined ? 0 : (cell.baseline[i] as number));
  return Number.isNaN(value) ? form.notAvailable : fixed(value * cell.scale + cell.offset, cell.decimals, form.decimal);
}

function timeWriter(form: CsvForm): (timeMs: number) => string {
  switch (form.time) {
    case 'iso8601':
      return createIsoTime();
    case 'epoch_seconds':
      return (timeMs) => String(Math.round(timeMs / 1000));
    case 'epoch_milliseconds':
      return String;
    case 'DD.MM.YYYY HH:mm:ss':
      return createLocalTime(form.timeZone ?? 'UTC');
  }
}

/** Repeats rows of a clock that fell back, and spoils a few rows, where the plan says so. */
function addAwkwardRows(plan: UnitPlan, form: CsvForm, day: UnitDay, rows: string[]): void {
  for (const nuisance of plan.nuisances) {
    if (nuisance.kind === 'not_available' || nuisance.day !== day.day || rows.length < 400) continue;
    if (nuisance.kind === 'repeated_rows') rows.splice(300, 0, ...rows.slice(300 - nuisance.count, 300));
    else {
      const cut = rows[100] as string;
      const fields = (rows[200] as string).split(form.delimiter);
      const hot = (rows[300] as string).split(form.delimiter);
      rows.splice(100, 1, cut.slice(0, cut.length >> 1) + form.lineEnd);
      rows.splice(200, 1, [...fields.slice(0, 1), 'NO DATA', ...fields.slice(2)].join(form.delimiter));
      rows.splice(300, 1, [...hot.slice(0, 1), '65535', ...hot.slice(2)].join(form.delimiter));
    }
  }
}
