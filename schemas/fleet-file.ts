import { z } from 'zod';
import { liveSourceIssues, liveSourcesSchema } from './live-sources.ts';
import { sourceRuleSchema, unitsOfRule } from './source-rule.ts';
import { unitSchema } from './unit.ts';

const placeSchema = z.strictObject({
  id: z.string().min(1),
  name: z.string().min(1),
  kind: z.enum(['depot', 'port']),
  timeZone: z.string().optional(),
});

export const fleetFileSchema = z
  .strictObject({
    version: z.literal(1),
    fleet: z.strictObject({
      name: z.string().min(1),
      /** Zone in which times are shown, IANA name. */
      timeZone: z.string().default('UTC'),
      /** False findings a planner is ready to look at, per 100 units and week. Control limits are solved from it. */
      falseFindingsPer100UnitsAndWeek: z.number().positive().max(1000).default(1),
    }),
    places: z.array(placeSchema).min(1),
    units: z.array(unitSchema).min(1),
    sources: z.array(sourceRuleSchema).default([]),
    /** Sources that send while they measure; `chargeair listen` starts them. */
    live: liveSourcesSchema.optional(),
  })
  .superRefine((file, context) => {
    const issue = (path: (string | number)[], message: string) => context.addIssue({ code: 'custom', path, message });
    const repeated = (ids: readonly string[]) => ids.findIndex((id, index) => ids.indexOf(id) < index);
    const places = file.places.map((place) => place.id);
    const units = file.units.map((unit) => unit.id);
    if (file.live !== undefined) {
      const found = liveSourceIssues({ live: file.live, unitIds: units, rules: file.sources });
      for (const { path, message } of found) issue(['live', ...path], message);
    }
    for (const [name, ids] of [
      ['places', places],
      ['units', units],
      ['sources', file.sources.map((s) => s.id)],
    ] as const) {
      const index = repeated(ids);
      if (index >= 0) issue([name, index, 'id'], `"${ids[index]}" is used twice; give each its own id`);
    }
    file.units.forEach((unit, index) => {
      if (!places.includes(unit.place)) {
        issue(
          ['units', index, 'place'],
          `"${unit.place}" is not among the places; use one of ${places.join(', ')} or add it`,
        );
      }
      if (unit.engine.charging === 'blower_scavenged' && unit.engine.strokes !== 2) {
        issue(['units', index, 'engine', 'strokes'], 'a blower-scavenged engine is a two-stroke; write 2');
      }
      for (const key of ['boostPressure', 'oilPressure', 'turbochargerOilPressure'] as const) {
        const sensor = unit.sensors[key];
        if (sensor !== undefined && sensor.reference === undefined) {
          issue(
            ['units', index, 'sensors', key, 'reference'],
            'is missing; write gauge or absolute, as the sensor reads',
          );
        }
      }
    });
    file.sources.forEach((source, index) => {
      if ('unit' in source && source.unit !== undefined && !units.includes(source.unit)) {
        issue(
          ['sources', index, 'unit'],
          `"${source.unit}" is not among the units; use one of their ids or add the unit`,
        );
      }
      if ('engines' in source) {
        const ids = Object.values(source.engines);
        if (ids.length === 0) issue(['sources', index, 'engines'], 'names no engine; write which unit each one is');
        for (const [engine, unit] of Object.entries(source.engines)) {
          if (units.includes(unit)) continue;
          issue(
            ['sources', index, 'engines', engine],
            `"${unit}" is not among the units; use one of their ids or add the unit`,
          );
        }
        if (new Set(ids).size < ids.length) {
          issue(['sources', index, 'engines'], 'names one unit twice; a unit is one engine, so give each its own');
        }
      }
      if ('sensors' in source) {
        source.sensors.forEach((sensor, at) => {
          if (sensor.unit === undefined || unitsOfRule(source).includes(sensor.unit)) return;
          issue(
            ['sources', index, 'sensors', at, 'unit'],
            `"${sensor.unit}" is not among the engines of this rule; name one of them`,
          );
        });
      }
      if (!('time' in source)) return;
      if ((source.unit === undefined) === (source.unitColumn === undefined)) {
        issue(['sources', index], 'needs either unit (all rows are of one unit) or unitColumn (a column names it)');
      }
      if (source.format === 'csv_long' && (source.channelColumn === undefined || source.valueColumn === undefined)) {
        issue(['sources', index], 'is a long table and needs channelColumn and valueColumn');
      }
      if (source.time.format === 'seconds_since_start' && source.time.startsAt === undefined) {
        issue(['sources', index, 'time', 'startsAt'], 'is missing; a log that counts seconds needs the time it began');
      }
    });
  });

/** The fleet as its owner describes it: places, units with their engines and limits, and how their logs are read. */
export type FleetFile = z.infer<typeof fleetFileSchema>;
