import { stringify } from 'yaml';
import { assert } from '../schemas/assert.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import type { SourceRule } from '../schemas/source-rule.ts';
import type { Unit } from '../schemas/unit.ts';
import { fleetUnit, type UnitCard } from './fleet-unit.ts';
import { LOG_FORMS } from './log-form-table.ts';
import type { LogForm } from './log-forms.ts';
import { DEMO_UNITS } from './scenario.ts';
import { UNIT_CARDS } from './unit-cards.ts';
import type { UnitPlan } from './unit-plan.ts';

const HEADING = `# The fleet of the demonstration. Every unit, name, place and limit in it is invented.
# It is also an example: copy it, then write your own units, limits and columns in its place.
# Limits of a real engine come from its maker's manual; the ones below belong to no engine.
`;

/** The demonstration's fleet as a fleet file: units, limits, and how each log is read. */
export function demoFleetYaml(): string {
  return HEADING + stringify(demoFleet(), { lineWidth: 118, aliasDuplicateObjects: false });
}

function demoFleet(): FleetFile {
  return {
    version: 1,
    fleet: {
      name: 'Hallowmere and Quillhaven (demonstration)',
      timeZone: 'Europe/Berlin',
      falseFindingsPer100UnitsAndWeek: 1,
    },
    places: [
      { id: 'hallowmere', name: 'Hallowmere depot', kind: 'depot', timeZone: 'Europe/Berlin' },
      { id: 'stenbrook', name: 'Stenbrook depot', kind: 'depot', timeZone: 'Europe/Berlin' },
      { id: 'quillhaven', name: 'Quillhaven harbour', kind: 'port', timeZone: 'Europe/Berlin' },
      { id: 'tarnwick', name: 'Tarnwick quay', kind: 'port', timeZone: 'Europe/Berlin' },
    ],
    units: DEMO_UNITS.map((plan) => unitOf(plan, cardOf(plan))),
    sources: DEMO_UNITS.map((plan) => sourceOf(plan)),
  };
}

function cardOf(plan: UnitPlan): UnitCard {
  const card = UNIT_CARDS[plan.id];
  assert(card !== undefined, `${plan.id} has a card`);
  return card;
}

function unitOf(plan: UnitPlan, card: UnitCard): Unit {
  const form = LOG_FORMS[plan.id];
  const columns = form === undefined || form.form === 'j1939_candump' ? [] : form.columns;
  const absolute = columns.filter((column) => column.reference === 'absolute').map((column) => column.key);
  return fleetUnit(plan, card, absolute);
}

function sourceOf(plan: UnitPlan): SourceRule {
  const form: LogForm | undefined = LOG_FORMS[plan.id];
  assert(form !== undefined, `${plan.id} has a form of log`);
  const base = { id: `${plan.id}-log`, unit: plan.id };
  if (form.form === 'j1939_candump') {
    const { sourceAddress, interface: bus } = form;
    return { ...base, files: `${plan.id}_*.log.gz`, format: 'j1939_candump', sourceAddress, interface: bus };
  }
  return {
    ...base,
    files: `${plan.id}_*.csv.gz`,
    format: form.form,
    delimiter: form.delimiter,
    decimal: form.decimal,
    skipLines: form.preamble.length,
    notAvailable: form.notAvailable === '' ? [] : [form.notAvailable],
    time: {
      column: form.timeHeader,
      format: form.time,
      ...(form.timeZone === undefined ? {} : { timeZone: form.timeZone }),
    },
    ...(form.form === 'csv_long' ? { channelColumn: 'channel', valueColumn: 'value' } : {}),
    columns: Object.fromEntries(
      form.columns.map(({ key, header, unit, reference }) => [
        key,
        { column: header, unit, ...(reference === undefined ? {} : { reference }) },
      ]),
    ),
  };
}
