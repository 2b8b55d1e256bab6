// Reference atmosphere of engine-testing law: 99 kPa dry and 298 K exactly, not 298.15 K.
const REFERENCE_DRY_ABS_KPA = 99;
const REFERENCE_AIR_K = 298;

/** Dry pressure and temperature of the air that an engine draws on test. */
export type TestAtmosphere = {
  /** Barometric less vapour pressure, kPa absolute; see `dryAirPressureKpa`. */
  readonly dryPressureAbsKpa: number;
  readonly temperatureK: number;
};

/** Exponents of `(99/pd)` and `(T/298)` in the atmospheric factor of a diesel engine. */
export type AtmosphericExponents = { readonly pressure: number; readonly temperature: number };

/**
 * Kinds of diesel engine with an atmospheric factor and the rule for their engine factor.
 *
 * The turbocharged exponents of UN R85 were seen in a published example; the others are from memory of UN Regulation 85,
 * Directive 80/1269/EEC, ISO 1585 and SAE J1349: look the standard up before declaring a power by them.
 */
export const DIESEL_KINDS = {
  naturallyAspirated: { exponents: { pressure: 1, temperature: 0.7 }, engineFactor: 'UN R85' },
  turbocharged: { exponents: { pressure: 0.7, temperature: 1.5 }, engineFactor: 'UN R85' },
  turbochargedUncooledOrAirToAir: { exponents: { pressure: 0.7, temperature: 1.2 }, engineFactor: 'ISO 1585' },
  turbochargedAirToLiquid: { exponents: { pressure: 0.7, temperature: 0.7 }, engineFactor: 'ISO 1585' },
} as const satisfies Record<string, { exponents: AtmosphericExponents; engineFactor: EngineFactorRule }>;

export type DieselKind = keyof typeof DIESEL_KINDS;

/** Whose engine factor: UN R85 gives 0.3 below 40 mg/(L cycle), ISO 1585 and SAE J1349 0.2 below 37.2. */
export type EngineFactorRule = 'UN R85' | 'ISO 1585';

/**
 * Atmospheric factor `fa` between two atmospheres: above 1 in thinner or warmer air than the reference.
 *
 * @param p.reference - 99 kPa dry and 298 K when left out.
 * @returns `undefined` when a pressure or temperature is not above zero.
 */
export function atmosphericFactor(p: {
  test: TestAtmosphere;
  reference?: TestAtmosphere;
  exponents: AtmosphericExponents;
}): number | undefined {
  const reference = p.reference ?? { dryPressureAbsKpa: REFERENCE_DRY_ABS_KPA, temperatureK: REFERENCE_AIR_K };
  const pressureRatio = reference.dryPressureAbsKpa / p.test.dryPressureAbsKpa;
  const temperatureRatio = p.test.temperatureK / reference.temperatureK;
  const isReal =
    p.test.dryPressureAbsKpa > 0 &&
    reference.dryPressureAbsKpa > 0 &&
    p.test.temperatureK > 0 &&
    reference.temperatureK > 0;
  return isReal ? pressureRatio ** p.exponents.pressure * temperatureRatio ** p.exponents.temperature : undefined;
}

/**
 * Corrected fuel delivery in mg per litre of displacement and working cycle, divided by the ABSOLUTE boost ratio.
 *
 * @param p.fuelFlowKgPerS - kg/s.
 * @param p.displacementL - All cylinders, litres.
 * @param p.speedRpm - Revolutions per minute.
 * @param p.strokes - 4: two revolutions a cycle; 2: one.
 * @param p.boostPressureRatio - Compressor outlet over inlet, absolute; 1 without a charger.
 * @returns `undefined` at standstill and when volume or ratio is not above zero.
 */
export function correctedFuelDeliveryMgPerLCycle(p: {
  fuelFlowKgPerS: number;
  displacementL: number;
  speedRpm: number;
  strokes: 4 | 2;
  boostPressureRatio: number;
}): number | undefined {
  const cyclesPerS = p.speedRpm / 60 / (p.strokes / 2);
  if (!(cyclesPerS > 0 && p.displacementL > 0 && p.boostPressureRatio > 0)) return undefined;
  return (p.fuelFlowKgPerS * 1e6) / (cyclesPerS * p.displacementL) / p.boostPressureRatio;
}

/**
 * Engine factor `fm`: how strongly a diesel answers to the atmosphere. `0.036 qc - 1.14` between two flat ends.
 *
 * @param p.correctedFuelMgPerLCycle - `qc`, mg per litre and cycle, not below zero.
 * @returns `undefined` below zero.
 * @see UN Regulation No. 85, annex 5, paragraph 5.4.2.2; ISO 1585 (from memory).
 */
export function engineFactor(p: { correctedFuelMgPerLCycle: number; rule: EngineFactorRule }): number | undefined {
  const qc = p.correctedFuelMgPerLCycle;
  if (!(qc >= 0)) return undefined;
  const [lowEnd, lowValue] = p.rule === 'UN R85' ? [40, 0.3] : [37.2, 0.2];
  if (qc < lowEnd) return lowValue;
  return qc > 65 ? 1.2 : 0.036 * qc - 1.14;
}

/**
 * Power correction factor `fa^fm` of a diesel: observed power times it is the power in the reference atmosphere. An engine
 * that holds its own air and fuel against altitude must not be corrected twice.
 *
 * @returns `undefined` when the atmospheric factor is not above zero.
 */
export function dieselCorrectionFactor(p: { atmosphericFactor: number; engineFactor: number }): number | undefined {
  return p.atmosphericFactor > 0 ? p.atmosphericFactor ** p.engineFactor : undefined;
}

/**
 * Correction factor of a spark-ignition engine by ISO 1585: `(99/pd)^1.2 (T/298)^0.6`. For comparison; not for diesels.
 *
 * @param p.reference - 99 kPa dry and 298 K when left out.
 * @returns `undefined` when a pressure or temperature is not above zero.
 */
export function sparkIgnitionFactor(p: { test: TestAtmosphere; reference?: TestAtmosphere }): number | undefined {
  return atmosphericFactor({ ...p, exponents: { pressure: 1.2, temperature: 0.6 } });
}

/**
 * Correction factor of a spark-ignition engine by SAE J1349: `b (99/pd)(T/298)^0.5 - (b - 1)`.
 *
 * @param p.edition - 1990: b = 1.180; 2004: b = 1.176 (85 % mechanical efficiency; from memory).
 * @returns `undefined` when a pressure or temperature is not above zero.
 */
export function sparkIgnitionFactorJ1349(p: { test: TestAtmosphere; edition: 1990 | 2004 }): number | undefined {
  const factor = atmosphericFactor({ test: p.test, exponents: { pressure: 1, temperature: 0.5 } });
  const gain = p.edition === 1990 ? 1.18 : 1.176;
  return factor === undefined ? undefined : gain * factor - (gain - 1);
}
