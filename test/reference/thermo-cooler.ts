import type { Arrangement } from '../../analysis/manipulation/arrangement.ts';
import { areaOfEffectivenessM2, areaOrCoefficient } from '../../analysis/manipulation/cooler-area.ts';
import { measuredCooler, ratedCooler } from '../../analysis/manipulation/cooler-rating.ts';
import { effectiveness, effectivenessCeiling } from '../../analysis/manipulation/effectiveness.ts';
import {
  cleanlinessRatio,
  fouledCoefficientWPerM2K,
  fouledTube,
  foulingResistanceM2KPerW,
} from '../../analysis/manipulation/fouling.ts';
import {
  correctionFactor,
  logMeanTemperatureDifferenceK,
} from '../../analysis/manipulation/log-mean-temperature-difference.ts';
import { transferUnits } from '../../analysis/manipulation/transfer-units.ts';
import { typicalFouling } from '../../analysis/manipulation/typical-fouling.ts';
import { type Handler, InputMissing, type Inputs, inUnit } from './thermo-inputs.ts';

const effectivenessOfNtu: Handler = (i) => ({
  effectiveness: effectiveness({
    arrangement: arrangementOf(i),
    ntu: i.number('ntu'),
    capacityRatio: i.number('capacityRatio'),
  }),
});

const ntuOfEffectiveness: Handler = (i) => {
  const arrangement = arrangementOf(i);
  const capacityRatio = i.number('capacityRatio');
  return {
    ntu: transferUnits({ arrangement, effectiveness: i.number('effectiveness'), capacityRatio }),
    ceiling: effectivenessCeiling({ arrangement, capacityRatio }),
  };
};

const correction: Handler = (i) => ({
  correctionFactor: correctionFactor({ arrangement: arrangementOf(i), ...temperatures(i) }),
});

const outletsOfUa: Handler = (i) => {
  const rating = ratedCooler({
    arrangement: arrangementOf(i),
    ...capacityRates(i),
    uaKwPerK: i.number('ua_W_per_K') / 1000,
    hotInC: i.quantity('hotIn', 'degC'),
    coldInC: i.quantity('coldIn', 'degC'),
  });
  return {
    effectiveness: rating?.effectiveness,
    ntu: rating?.ntu,
    heatRate: inUnit(rating?.heatRateKw, 'kW'),
    hotOut: inUnit(rating?.hotOutC, 'degC'),
    coldOut: inUnit(rating?.coldOutC, 'degC'),
  };
};

/** Heat exchangers and fouling: quantity of the check file to our functions. */
export const COOLER_QUANTITIES: Readonly<Record<string, Handler>> = {
  'effectiveness from ntu': effectivenessOfNtu,
  'effectiveness from ntu, crossflow approximation': effectivenessOfNtu,
  'ntu from effectiveness': ntuOfEffectiveness,
  "ntu from effectiveness, above the arrangement's ceiling": ntuOfEffectiveness,
  'log mean temperature difference': (i) => ({
    lmtd: inUnit(logMeanTemperatureDifferenceK({ ...temperatures(i), parallel: isParallel(i) }), 'K'),
  }),
  'lmtd correction factor': correction,
  'lmtd correction factor, infeasible': correction,
  'effectiveness and heat rate from ua': outletsOfUa,
  'outlet temperatures from ua': outletsOfUa,
  'cooler outlet temperatures from ua': (i) => {
    const streams = airAndCoolant(i);
    const rating = ratedCooler({
      arrangement: arrangementOf(i),
      hotKwPerK: streams.airKwPerK,
      coldKwPerK: streams.coolantKwPerK,
      uaKwPerK: i.number('ua_W_per_K') / 1000,
      hotInC: streams.airInC,
      coldInC: streams.coolantInC,
    });
    return {
      effectiveness: rating?.effectiveness,
      ntu: rating?.ntu,
      heatRate: inUnit(rating?.heatRateKw, 'kW'),
      airOut: inUnit(rating?.hotOutC, 'degC'),
      coolantOut: inUnit(rating?.coldOutC, 'degC'),
    };
  },
  'ua from measured air temperatures': (i) => {
    const measured = measuredCooler({
      arrangement: arrangementOf(i),
      ...airAndCoolant(i),
      airOutC: i.quantity('airOut', 'degC'),
    });
    return {
      effectiveness: measured?.effectiveness,
      ntu: measured?.ntu,
      airTemperatureEffectiveness: measured?.airTemperatureEffectiveness,
      heatRate: inUnit(measured?.heatRateKw, 'kW'),
      ua_W_per_K: measured === undefined ? undefined : measured.uaKwPerK * 1000,
    };
  },
  'area from effectiveness': (i) => ({
    area: inUnit(
      areaOfEffectivenessM2({
        arrangement: arrangementOf(i),
        ...capacityRates(i),
        overallWPerM2K: i.quantity('u', 'W/(m2 K)'),
        effectiveness: i.number('effectiveness'),
      }),
      'm2',
    ),
  }),
  'area from lmtd': (i) => ({
    area: inUnit(areaOrCoefficient({ ...lmtdDuty(i), given: i.quantity('u', 'W/(m2 K)') }), 'm2'),
  }),
  'overall coefficient from measured temperatures': (i) => ({
    u: inUnit(areaOrCoefficient({ ...lmtdDuty(i), given: i.quantity('area', 'm2') }), 'W/(m2 K)'),
  }),
  'fouling resistance from clean and fouled coefficients': (i) => {
    const p = { cleanWPerM2K: i.quantity('uClean', 'W/(m2 K)'), fouledWPerM2K: i.quantity('uFouled', 'W/(m2 K)') };
    return { foulingResistance: inUnit(foulingResistanceM2KPerW(p), 'm2 K/W'), cleanliness: cleanlinessRatio(p) };
  },
  'fouled coefficient from fouling resistance': (i) => ({
    uFouled: inUnit(
      fouledCoefficientWPerM2K({
        cleanWPerM2K: i.quantity('uClean', 'W/(m2 K)'),
        foulingM2KPerW: i.quantity('foulingResistance', 'm2 K/W'),
      }),
      'W/(m2 K)',
    ),
  }),
  'overall coefficient of a fouled tube': (i) => {
    const tube = fouledTube({
      innerDiameterM: i.quantity('innerDiameter', 'm'),
      outerDiameterM: i.quantity('outerDiameter', 'm'),
      wallConductivityWPerMK: i.number('wallConductivity_W_per_mK'),
      insideWPerM2K: i.quantity('hInside', 'W/(m2 K)'),
      outsideWPerM2K: i.quantity('hOutside', 'W/(m2 K)'),
      insideFoulingM2KPerW: i.quantity('foulingInside', 'm2 K/W'),
      outsideFoulingM2KPerW: i.quantity('foulingOutside', 'm2 K/W'),
    });
    return {
      resistancePerLength_mK_per_W: tube?.resistanceMKPerW,
      uInside: inUnit(tube?.insideWPerM2K, 'W/(m2 K)'),
      uOutside: inUnit(tube?.outsideWPerM2K, 'W/(m2 K)'),
    };
  },
  'typical fouling resistance': (i) => {
    const entry = typicalFouling(i.text('service'));
    if (entry === undefined)
      throw new InputMissing(`our table of typical fouling resistances lacks "${i.text('service')}"`);
    return { foulingResistance: inUnit(entry.resistanceM2KPerW, 'm2 K/W') };
  },
};

const KINDS = [
  'counterflow',
  'parallelFlow',
  'crossflowBothUnmixed',
  'crossflowBothUnmixedApproximate',
  'crossflowCminMixed',
  'crossflowCmaxMixed',
] as const;

function arrangementOf(i: Inputs): Arrangement {
  const text = i.text('arrangement');
  // "any" stands only with a capacity ratio of 0, where all arrangements agree.
  if (text === 'any' && i.optionalNumber('capacityRatio') === 0) return { kind: 'counterflow' };
  const kind = KINDS.find((known) => known === text);
  if (kind !== undefined) return { kind };
  const shells = /^shellAndTube(\d+)Shells?$/.exec(text);
  if (shells === null) throw new InputMissing(`the arrangement "${text}" is none of ours`);
  return { kind: 'shells', shellCount: Number(shells[1]) };
}

function isParallel(i: Inputs): boolean {
  return i.has('arrangement') && i.text('arrangement') === 'parallelFlow';
}

function temperatures(i: Inputs) {
  return {
    hotInC: i.quantity('hotIn', 'degC'),
    hotOutC: i.quantity('hotOut', 'degC'),
    coldInC: i.quantity('coldIn', 'degC'),
    coldOutC: i.quantity('coldOut', 'degC'),
  };
}

function capacityRates(i: Inputs) {
  return {
    hotKwPerK: i.number('hotCapacityRate_W_per_K') / 1000,
    coldKwPerK: i.number('coldCapacityRate_W_per_K') / 1000,
  };
}

function airAndCoolant(i: Inputs) {
  return {
    airKwPerK: (i.quantity('airFlow', 'kg/s') * i.number('airCp_J_per_kgK')) / 1000,
    coolantKwPerK: (i.quantity('coolantFlow', 'kg/s') * i.number('coolantCp_J_per_kgK')) / 1000,
    airInC: i.quantity('airIn', 'degC'),
    coolantInC: i.quantity('coolantIn', 'degC'),
  };
}

function lmtdDuty(i: Inputs) {
  return {
    ...temperatures(i),
    heatRateKw: i.quantity('heatRate', 'kW'),
    correctionFactor: i.optionalNumber('correctionFactor') ?? 1,
    parallel: isParallel(i),
  };
}
