import { describe, expect, test } from 'vitest';
import { unitSchema } from '../schemas/unit.ts';
import { type SyntheticFleet, syntheticFleet, syntheticFleetUnits } from './synthetic-fleet.ts';

const fleet: SyntheticFleet = {
  units: 7,
  days: 3,
  seed: 4,
  faults: [{ unit: 2, fault: 'pressure_reference_mixup', onsetDay: 0 }],
  sensorSet: 'full',
};

describe('a synthetic fleet', () => {
  test('every unit is one that the fleet file accepts', () => {
    for (const unit of syntheticFleetUnits(fleet)) expect(unitSchema.safeParse(unit).error?.issues ?? []).toEqual([]);
  });

  test('days come unit by unit with columns as long as their times', () => {
    const seen: string[] = [];
    for (const day of syntheticFleet(fleet)) {
      if (seen.at(-1) !== day.unitId) seen.push(day.unitId);
      for (const column of Object.values(day.columns)) expect(column).toHaveLength(day.tMs.length);
    }
    expect(seen).toEqual(syntheticFleetUnits(fleet).map((unit) => unit.id));
  });

  test('a pressure of the wrong reference reads one barometer too high at standstill', () => {
    const first = (index: number) => {
      for (const day of syntheticFleet(fleet)) {
        if (day.unitId === syntheticFleetUnits(fleet)[index]?.id) return day.columns.boostPressure?.[0] ?? Number.NaN;
      }
      return Number.NaN;
    };
    expect(first(2)).toBeGreaterThan(95);
    expect(Math.abs(first(3))).toBeLessThan(6);
  });
});
