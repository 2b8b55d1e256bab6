import type { Indicator, Indicators } from '../../schemas/indicator.ts';
import type { OperatingPoint } from '../../schemas/operating-point.ts';
import { SIGNALS, type SignalKey } from '../../schemas/signals.ts';
import { sensorUncertainty, type Unit } from '../../schemas/unit.ts';
import { airSignal, sinkSignal } from './air-and-sink.ts';
import { dryAirDensityKgPerM3 } from './air-density.ts';
import { speedDensityAirFlowKgPerS } from './air-flow.ts';
import { compressorIsentropicEfficiency } from './compressor-efficiency.ts';
import { pressureDropCoefficientPerM4 } from './flow-resistance.ts';
import { compressorPressureRatio } from './pressure-ratio.ts';
import { type Measurement, propagatedUncertainty } from './uncertainty.ts';

/** Volumetric efficiency on manifold conditions where none is known, with its standard uncertainty. Common practice, no source. */
const VOLUMETRIC_EFFICIENCY: Measurement = { value: 0.92, standardUncertainty: 0.04 };

/** Depression of filter and duct where no filter sensor is fitted: clean to dirty. Common practice, no source. */
const INLET_DEPRESSION_KPA: Measurement = { value: 2, standardUncertainty: 1.2 };

/** Effectiveness says nothing when the air is hardly hotter than its cooling medium. */
const LEAST_TEMPERATURE_SPAN_K = 25;

/**
 * Every derived quantity that the unit's sensors allow at an operating point, each with its standard uncertainty from
 * sensor class and spread within the window, or the reason why it is absent.
 *
 * @param point - The operating point.
 * @param unit - Gives sensors, their uncertainty, displacement and strokes.
 */
export function indicatorsOf(point: OperatingPoint, unit: Unit): Indicators {
  const read = (key: SignalKey | undefined): Measurement | undefined => {
    const summary = key === undefined ? undefined : point.signals[key];
    if (summary === undefined || key === undefined) return undefined;
    // Sensor class and the standard error of the window's mean, combined.
    return {
      value: summary.mean,
      standardUncertainty: Math.hypot(sensorUncertainty(unit, key), summary.sd / Math.sqrt(summary.count)),
    };
  };
  const airKey = airSignal(unit);
  const sinkKey = sinkSignal(unit);
  const chargeKey: SignalKey =
    unit.sensors.intakeManifoldTemperature !== undefined
      ? 'intakeManifoldTemperature'
      : 'chargeAirCoolerOutletTemperature';
  const inputs = {
    boost: read('boostPressure'),
    barometer: read('barometricPressure'),
    charge: read(chargeKey),
    outlet: read('compressorOutletTemperature'),
    air: read(airKey),
    sink: read(sinkKey),
    filterDrop: read('airFilterDifferentialPressure'),
    depression: read('airFilterDifferentialPressure') ?? INLET_DEPRESSION_KPA,
    fill: VOLUMETRIC_EFFICIENCY,
    coolerDrop: read('chargeAirCoolerDifferentialPressure'),
    speed: read('engineSpeed'),
  };
  const name = {
    boost: 'boostPressure',
    barometer: 'barometricPressure',
    charge: chargeKey,
    outlet: 'compressorOutletTemperature',
    air: airKey ?? 'compressorInletTemperature',
    sink: sinkKey ?? 'cooling medium temperature',
    filterDrop: 'airFilterDifferentialPressure',
    depression:
      inputs.filterDrop === undefined
        ? `inlet depression taken as ${INLET_DEPRESSION_KPA.value} kPa`
        : 'airFilterDifferentialPressure',
    fill: `volumetric efficiency taken as ${VOLUMETRIC_EFFICIENCY.value}; a leak before the engine makes the flow read low`,
    coolerDrop: 'chargeAirCoolerDifferentialPressure',
    speed: 'engineSpeed',
  } as const;
  type Name = keyof typeof inputs;

  /** Computes one indicator from named inputs, or says which of them is missing. */
  const derive = (
    keys: readonly Name[],
    formula: (v: Readonly<Record<Name, number>>) => number | undefined,
  ): Indicator => {
    const missing = keys.filter((key) => inputs[key] === undefined).map((key) => describe(name[key]));
    if (missing.length > 0) return { absent: `no value of ${missing.join(', ')}` };
    const result = propagatedUncertainty({
      of: formula,
      inputs: Object.fromEntries(keys.map((key) => [key, inputs[key]])) as Record<Name, Measurement>,
    });
    if (result === undefined)
      return { absent: 'undefined or boundless at this point: too little boost or temperature difference' };
    const { value, standardUncertainty } = result;
    return { value, standardUncertainty, from: [...new Set(keys.map((key) => name[key]))] };
  };

  const ratio = (v: { boost: number; barometer: number; depression: number }) =>
    compressorPressureRatio({
      boostGaugeKpa: v.boost,
      barometricAbsKpa: v.barometer,
      inletDepressionKpa: v.depression,
      coolerPressureDropKpa: inputs.coolerDrop?.value ?? 0,
    });
  const charge = (v: { boost: number; barometer: number; charge: number }) =>
    dryAirDensityKgPerM3({ pressureAbsKpa: v.boost + v.barometer, temperatureC: v.charge });
  const airFlow = (v: { boost: number; barometer: number; charge: number; speed: number; fill: number }) =>
    speedDensityAirFlowKgPerS({
      displacementL: unit.engine.displacementL,
      strokes: unit.engine.strokes,
      speedRpm: v.speed,
      volumetricEfficiency: v.fill,
      manifoldAbsKpa: v.boost + v.barometer,
      manifoldTemperatureC: v.charge,
    });
  return {
    compressorPressureRatio: derive(['boost', 'barometer', 'depression'], ratio),
    compressorIsentropicEfficiency: derive(['boost', 'barometer', 'depression', 'air', 'outlet'], (v) => {
      const pressureRatio = ratio(v);
      return pressureRatio === undefined
        ? undefined
        : compressorIsentropicEfficiency({ inletTemperatureC: v.air, outletTemperatureC: v.outlet, pressureRatio });
    }),
    coolerEffectiveness: derive(['outlet', 'charge', 'sink'], (v) =>
      v.outlet - v.sink < LEAST_TEMPERATURE_SPAN_K ? undefined : (v.outlet - v.charge) / (v.outlet - v.sink),
    ),
    coolerApproach: derive(['charge', 'sink'], (v) => v.charge - v.sink),
    chargeAirDensity: derive(['boost', 'barometer', 'charge'], charge),
    airMassFlow: derive(['boost', 'barometer', 'charge', 'speed', 'fill'], airFlow),
    filterPressureDropCoefficient: derive(['filterDrop', 'air', 'boost', 'barometer', 'charge', 'speed', 'fill'], (v) =>
      coefficient({
        pressureDropKpa: v.filterDrop,
        density: dryAirDensityKgPerM3({ pressureAbsKpa: v.barometer, temperatureC: v.air }),
        flow: airFlow(v),
      }),
    ),
    coolerPressureDropCoefficient: derive(['coolerDrop', 'boost', 'barometer', 'charge', 'speed', 'fill'], (v) =>
      coefficient({ pressureDropKpa: v.coolerDrop, density: charge(v), flow: airFlow(v) }),
    ),
  };
}

function coefficient(p: {
  pressureDropKpa: number;
  density: number | undefined;
  flow: number | undefined;
}): number | undefined {
  if (p.density === undefined || p.flow === undefined) return undefined;
  return pressureDropCoefficientPerM4({
    pressureDropKpa: p.pressureDropKpa,
    densityKgPerM3: p.density,
    airFlowKgPerS: p.flow,
  });
}

function describe(key: string): string {
  return key in SIGNALS ? SIGNALS[key as SignalKey].term : key;
}
