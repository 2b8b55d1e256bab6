import type { Duty, Limits, Unit } from '../schemas/unit.ts';
import type { ModelSignal } from './engine/outputs.ts';
import type { UnitPlan } from './unit-plan.ts';

/** What the fleet file says about a unit beyond its engine. Names and limits are invented. */
export type UnitCard = {
  readonly name: string;
  readonly duty: Duty;
  readonly place: string;
  readonly boostMaxKpa: number;
  readonly chargeAirMaxC: number;
};

/**
 * A unit as the fleet file describes it.
 *
 * @param absolute - Sensors whose pressures are absolute; the others are gauge.
 */
export function fleetUnit(plan: UnitPlan, card: UnitCard, absolute: readonly ModelSignal[] = []): Unit {
  const { ratedPowerKw, ratedSpeedRpm, idleSpeedRpm, displacementL, strokes, charging, boostControl, cooler } =
    plan.spec;
  const needsReference: readonly ModelSignal[] = ['boostPressure', 'oilPressure', 'turbochargerOilPressure'];
  const sensors: Unit['sensors'] = Object.fromEntries(
    plan.sensors.map(({ key }) => [
      key,
      needsReference.includes(key) ? { reference: absolute.includes(key) ? 'absolute' : 'gauge' } : {},
    ]),
  );
  return {
    id: plan.id,
    name: card.name,
    kind: plan.marine ? 'vessel' : 'road',
    duty: card.duty,
    place: card.place,
    engine: { ratedPowerKw, ratedSpeedRpm, idleSpeedRpm, displacementL, strokes, charging, boostControl, cooler },
    sensors,
    limits: limitsOf(plan, card),
  };
}

function limitsOf(plan: UnitPlan, card: UnitCard): Limits {
  const { idleSpeedRpm, ratedSpeedRpm, designShaftRpm } = plan.spec;
  const fitted = (key: ModelSignal) => plan.sensors.some((sensor) => sensor.key === key);
  return {
    source: 'invented for the demonstration; take the limits of your engines from their manuals',
    boostMaxKpa: card.boostMaxKpa,
    chargeAirTemperatureMaxC: card.chargeAirMaxC,
    exhaustTemperatureMaxC: plan.marine ? 700 : 740,
    oilPressureMin: [
      { speedRpm: idleSpeedRpm, pressureKpa: 70 },
      { speedRpm: ratedSpeedRpm, pressureKpa: 230 },
    ],
    ...(fitted('airFilterDifferentialPressure') ? { filterPressureDropMaxKpa: 6.2 } : {}),
    ...(fitted('turbochargerSpeed')
      ? { turbochargerSpeedMaxRpm: Math.round((designShaftRpm * 1.25) / 1000) * 1000 }
      : {}),
  };
}
