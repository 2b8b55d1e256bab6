import {
  atmosphericFactor,
  correctedFuelDeliveryMgPerLCycle,
  DIESEL_KINDS,
  type DieselKind,
  dieselCorrectionFactor,
  engineFactor,
  sparkIgnitionFactor,
  sparkIgnitionFactorJ1349,
} from '../../analysis/manipulation/atmospheric-correction.ts';
import {
  fuelAdjustmentFactor,
  indicatedPowerRatio,
  powerAdjustmentFactor,
  type RatingConditions,
} from '../../analysis/manipulation/iso3046-power.ts';
import { fourStroke } from './thermo-air.ts';
import { type Handler, InputMissing, type Inputs, inUnit } from './thermo-inputs.ts';

const factors: Handler = (i) => {
  const known = indicated(i, 'site');
  if (known === undefined) return { k: undefined, alpha: undefined, beta: undefined };
  return { k: known.indicatedPowerRatio, alpha: powerAdjustmentFactor(known), beta: fuelAdjustmentFactor(known) };
};

/** Power correction: quantity of the check file to our functions. */
export const POWER_QUANTITIES: Readonly<Record<string, Handler>> = {
  'iso 3046-1 power adjustment': (i) => ({
    sitePower: inUnit(times(i.quantity('referencePower', 'kW'), alpha(i, 'site')), 'kW'),
  }),
  'iso 3046-1 power adjustment, site to test bed': (i) => {
    const atSite = alpha(i, 'site');
    const reference = atSite === undefined ? undefined : i.quantity('sitePower', 'kW') / atSite;
    return { testPower: inUnit(times(reference, alpha(i, 'test')), 'kW') };
  },
  'iso 3046-1 factors k and alpha': factors,
  'iso 3046-1 factors k, alpha and beta': factors,
  'iso 3046-1 power from alpha': (i) => ({
    power: inUnit(i.quantity('referencePower', 'kW') * i.number('alpha'), 'kW'),
  }),
  'iso 3046-1 fuel consumption recalculation': (i) => {
    const beta = fuelAdjustmentFactor({
      indicatedPowerRatio: i.number('k'),
      mechanicalEfficiency: i.number('mechanicalEfficiency'),
    });
    return { siteFuel: inUnit(times(i.quantity('referenceFuel', 'g/(kW h)'), beta), 'g/(kW h)') };
  },
  'spark-ignition correction factor (exponents 1.2 and 0.6)': (i) => {
    const vapourKpa = i.number('relativeHumidity') * i.quantity('saturationPressure', 'kPa');
    const factor = sparkIgnitionFactor({
      test: {
        dryPressureAbsKpa: i.quantity('pressure', 'kPa') - vapourKpa,
        temperatureK: i.quantity('temperature', 'K'),
      },
      reference: {
        dryPressureAbsKpa: i.quantity('referenceDryPressure', 'kPa'),
        temperatureK: i.quantity('referenceTemperature', 'K'),
      },
    });
    return { correctedPower: inUnit(times(i.quantity('observedPower', 'kW'), factor), 'kW'), correctionFactor: factor };
  },
  'sae j1349 (1990) spark-ignition correction factor': (i) => ({
    correctionFactor: sparkIgnitionFactorJ1349({ test: testAtmosphere(i), edition: 1990 }),
  }),
  'sae j1349 (2004) spark-ignition correction factor': (i) => ({
    correctionFactor: sparkIgnitionFactorJ1349({ test: testAtmosphere(i), edition: 2004 }),
  }),
  'compression-ignition power between two sets of conditions (0.7, 1.5)': (i) => {
    const delivery = fuelDelivery(i);
    const toSite = atmosphericFactor({
      test: {
        dryPressureAbsKpa: i.quantity('testDryPressure', 'kPa'),
        temperatureK: i.quantity('testTemperature', 'K'),
      },
      reference: {
        dryPressureAbsKpa: i.quantity('siteDryPressure', 'kPa'),
        temperatureK: i.quantity('siteTemperature', 'K'),
      },
      exponents: DIESEL_KINDS.turbocharged.exponents,
    });
    const answer =
      delivery === undefined ? undefined : engineFactor({ correctedFuelMgPerLCycle: delivery, rule: 'UN R85' });
    const known = toSite !== undefined && answer !== undefined;
    const factor = known ? dieselCorrectionFactor({ atmosphericFactor: toSite, engineFactor: answer }) : undefined;
    return { sitePower: inUnit(times(i.quantity('observedPower', 'kW'), factor), 'kW') };
  },
  'corrected fuel delivery': (i) => ({ correctedFuelDelivery_mg_per_L_cycle: fuelDelivery(i) }),
  'compression-ignition correction factor': (i) => {
    const kind = DIESEL_KINDS[dieselKind(i.text('kind'))];
    const correctedFuelMgPerLCycle = i.number('correctedFuelDelivery_mg_per_L_cycle');
    const atmospheric = atmosphericFactor({ test: testAtmosphere(i), exponents: kind.exponents });
    const answer = engineFactor({ correctedFuelMgPerLCycle, rule: kind.engineFactor });
    const known = atmospheric !== undefined && answer !== undefined;
    return {
      atmosphericFactor: atmospheric,
      engineFactor: answer,
      correctionFactor: known
        ? dieselCorrectionFactor({ atmosphericFactor: atmospheric, engineFactor: answer })
        : undefined,
    };
  },
  'engine factor fm (un r85)': (i) => ({
    engineFactor: engineFactor({
      correctedFuelMgPerLCycle: i.number('correctedFuelDelivery_mg_per_L_cycle'),
      rule: 'UN R85',
    }),
  }),
  'engine factor fm (iso 1585)': (i) => ({
    engineFactor: engineFactor({
      correctedFuelMgPerLCycle: i.number('correctedFuelDelivery_mg_per_L_cycle'),
      rule: 'ISO 1585',
    }),
  }),
};

function dieselKind(text: string): DieselKind {
  const words = text.toLowerCase();
  if (words.startsWith('naturally aspirated')) return 'naturallyAspirated';
  if (words.includes('air-to-liquid')) return 'turbochargedAirToLiquid';
  if (words.includes('no cooler') || words.includes('air-to-air')) return 'turbochargedUncooledOrAirToAir';
  if (words.startsWith('turbocharged') && words.includes('r85')) return 'turbocharged';
  throw new InputMissing(`the engine kind "${text}" is none of ours`);
}

function testAtmosphere(i: Inputs) {
  return { dryPressureAbsKpa: i.quantity('dryPressure', 'kPa'), temperatureK: i.quantity('temperature', 'K') };
}

function fuelDelivery(i: Inputs): number | undefined {
  return correctedFuelDeliveryMgPerLCycle({
    ...fourStroke(i),
    fuelFlowKgPerS: i.quantity('fuelFlow', 'kg/s'),
    boostPressureRatio: i.number('boostPressureRatio'),
  });
}

function conditions(i: Inputs, place: 'site' | 'reference' | 'test'): RatingConditions {
  const relativeHumidityRatio = i.optionalNumber(`${place}RelativeHumidity`);
  const saturationPressureKpa = i.optionalQuantity(`${place}SaturationPressure`, 'kPa');
  const coolantTemperatureK = i.optionalQuantity(`${place}CoolantTemperature`, 'K');
  return {
    pressureAbsKpa: i.quantity(`${place}Pressure`, 'kPa'),
    temperatureK: i.quantity(`${place}Temperature`, 'K'),
    ...(relativeHumidityRatio === undefined ? {} : { relativeHumidityRatio }),
    ...(saturationPressureKpa === undefined ? {} : { saturationPressureKpa }),
    ...(coolantTemperatureK === undefined ? {} : { coolantTemperatureK }),
  };
}

function indicated(i: Inputs, place: 'site' | 'test') {
  const ratio = indicatedPowerRatio({
    site: conditions(i, place),
    reference: conditions(i, 'reference'),
    exponents: {
      humidityFactor: i.number('humidityFactorA'),
      pressureExponent: i.number('exponentM'),
      temperatureExponent: i.number('exponentN'),
      coolantExponent: i.number('exponentS'),
    },
  });
  return ratio === undefined
    ? undefined
    : { indicatedPowerRatio: ratio, mechanicalEfficiency: i.number('mechanicalEfficiency') };
}

function alpha(i: Inputs, place: 'site' | 'test'): number | undefined {
  const known = indicated(i, place);
  return known === undefined ? undefined : powerAdjustmentFactor(known);
}

function times(one: number | undefined, other: number | undefined): number | undefined {
  return one === undefined || other === undefined ? undefined : one * other;
}
