import { readFile } from 'node:fs/promises';
import { CAUSES } from '../alerts/checklists/cause-table.ts';
import type { KnownFault } from '../analysis/backtest-truth.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import { closestWord } from './closest-word.ts';
import { CommandFault } from './command-fault.ts';
import { fileErrorSentence } from './file-error.ts';

const COLUMNS = ['unit', 'fault', 'from', 'to'] as const;
type Row = { readonly place: string } & { readonly [C in (typeof COLUMNS)[number]]: string };

/**
 * Faults that an analyst knows of, from a file: CSV with the header `unit,fault,from,to`, or a JSON array of objects with
 * these fields. Times are ISO 8601 with a zone, or a day (then midnight UTC); `to` may be left out for a fault that was
 * still there at the end.
 *
 * @throws CommandFault with every fault of the file, one a line.
 */
export async function readKnownFaults(p: { path: string; fleet: FleetFile }): Promise<readonly KnownFault[]> {
  let text: string;
  try {
    text = await readFile(p.path, 'utf8');
  } catch (error) {
    throw new CommandFault({ message: `${p.path} ${fileErrorSentence(error)}` });
  }
  const rows = text.trimStart().startsWith('[') ? jsonRows(text, p.path) : csvRows(text, p.path);
  const wrong: string[] = [];
  const faults = rows.flatMap((row) =>
    faultOf(row, { fleet: p.fleet, say: (text) => wrong.push(`${row.place}: ${text}`) }),
  );
  if (wrong.length > 0) throw new CommandFault({ message: wrong.join('\n') });
  return faults;
}

function csvRows(text: string, file: string): Row[] {
  const lines = text.replace(/^\uFEFF/, '').split(/\r?\n/);
  const header = (lines[0] ?? '').split(/[,;]/).map((name) => name.trim());
  const missing = COLUMNS.slice(0, 3).filter((name) => !header.includes(name));
  if (missing.length > 0)
    throw new CommandFault({ message: `${file}:1: lacks ${missing.join(', ')}; write the header unit,fault,from,to` });
  return lines.slice(1).flatMap((line, index) => {
    if (line.trim() === '') return [];
    const cells = line.split(/[,;]/);
    const cell = (name: string) => (cells[header.indexOf(name)] ?? '').trim().replace(/^"(.*)"$/, '$1');
    return [
      { place: `${file}:${index + 2}`, unit: cell('unit'), fault: cell('fault'), from: cell('from'), to: cell('to') },
    ];
  });
}

function jsonRows(text: string, file: string): Row[] {
  let written: unknown;
  try {
    written = JSON.parse(text);
  } catch (error) {
    throw new CommandFault({
      message: `${file} is not JSON: ${error instanceof Error ? error.message : String(error)}`,
    });
  }
  if (!Array.isArray(written)) throw new CommandFault({ message: `${file}: write an array of faults` });
  return written.map((entry: unknown, index) => {
    const field = (name: string) => {
      const value = typeof entry === 'object' && entry !== null ? (entry as Record<string, unknown>)[name] : undefined;
      return typeof value === 'string' ? value : '';
    };
    return {
      place: `${file}[${index}]`,
      unit: field('unit'),
      fault: field('fault'),
      from: field('from'),
      to: field('to'),
    };
  });
}

function faultOf(row: Row, p: { fleet: FleetFile; say: (text: string) => void }): KnownFault[] {
  const units = p.fleet.units.map(({ id }) => id);
  const faults = Object.keys(CAUSES).filter((id) => id !== 'unknown');
  const fromMs = timeOf(row.from);
  const toMs = row.to === '' ? Number.MAX_SAFE_INTEGER : timeOf(row.to);
  let sound = true;
  const wrong = (text: string) => {
    sound = false;
    p.say(text);
  };
  if (!units.includes(row.unit)) wrong(`unit "${row.unit}" is not in the fleet file${suggest(row.unit, units)}`);
  if (!faults.includes(row.fault)) wrong(`fault "${row.fault}" is no known cause${suggest(row.fault, faults)}`);
  if (fromMs === undefined)
    wrong(`from "${row.from}" is no time; write ISO 8601 with a zone, such as 2026-08-12T06:00:00Z`);
  if (toMs === undefined) wrong(`to "${row.to}" is no time; write ISO 8601 with a zone, or leave it empty`);
  if (fromMs !== undefined && toMs !== undefined && toMs <= fromMs) wrong('to is not later than from');
  if (!sound || fromMs === undefined || toMs === undefined) return [];
  return [{ unit: row.unit, fault: row.fault, fromMs, toMs, onset: 'stated' }];
}

function timeOf(text: string): number | undefined {
  if (!/^\d{4}-\d\d-\d\d(T\d\d:\d\d(:\d\d(\.\d+)?)?(Z|[+-]\d\d:\d\d))?$/.test(text)) return undefined;
  const ms = Date.parse(text);
  return Number.isNaN(ms) ? undefined : ms;
}

function suggest(word: string, known: readonly string[]): string {
  const near = closestWord({ word, known });
  return near === undefined ? '' : `; did you mean ${near}?`;
}
