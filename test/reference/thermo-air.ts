import { densityRatio, dryAirDensityKgPerM3, moistAirDensityKgPerM3 } from '../../analysis/manipulation/air-density.ts';
import { speedDensityAirFlowKgPerS, volumetricEfficiency } from '../../analysis/manipulation/air-flow.ts';
import { chargeCondensateKgPerKgDryAir, chargeDewPointC } from '../../analysis/manipulation/charge-condensation.ts';
import {
  compressorOutletTemperatureC,
  isentropicOutletTemperatureC,
} from '../../analysis/manipulation/compressor-temperature.ts';
import {
  airDewPointC,
  dryAirPressureKpa,
  humidityRatio,
  vapourPressureKpa,
  vapourPressureOfHumidityRatioKpa,
  waterMoleFraction,
} from '../../analysis/manipulation/moist-air.ts';
import {
  dewPointC,
  saturationPressureKpa,
  saturationPressureOverIceKpa,
  saturationPressureOverLiquidKpa,
} from '../../analysis/manipulation/saturation-pressure.ts';
import {
  geopotentialAltitudeM,
  pressureAltitudeM,
  standardAtmosphere,
} from '../../analysis/manipulation/standard-atmosphere.ts';
import { type Handler, type Inputs, inUnit } from './thermo-inputs.ts';

const humidityRatioHandler: Handler = (i) => ({ humidityRatio_kg_per_kg_dry_air: humidityRatio(airState(i)) });

const chargeDewPoint: Handler = (i) => ({
  dewPoint: inUnit(
    chargeDewPointC({ ambient: ambientState(i), chargeAbsKpa: i.quantity('chargePressureAbsolute', 'kPa') }),
    'degC',
  ),
});

const chargeCondensate: Handler = (i) => {
  const condensate = chargeCondensateKgPerKgDryAir({
    ambient: ambientState(i),
    chargeAbsKpa: i.quantity('chargePressureAbsolute', 'kPa'),
    outletTemperatureC: i.quantity('coolerOutletTemperature', 'degC'),
  });
  const rate = condensate === undefined ? undefined : condensate * i.quantity('dryAirFlow', 'kg/s');
  return { condensate_kg_per_kg_dry_air: condensate, condensateRate: inUnit(rate, 'kg/s') };
};

/** Standard atmosphere and moist air: quantity of the check file to our functions. */
export const AIR_QUANTITIES: Readonly<Record<string, Handler>> = {
  'standard atmosphere at a geometric altitude': (i) =>
    atmosphere(geopotentialAltitudeM(i.quantity('geometricAltitude', 'm'))),
  'standard atmosphere at a geopotential altitude': (i) => atmosphere(i.quantity('geopotentialAltitude', 'm')),
  'pressure altitude (geopotential)': (i) => ({
    geopotentialAltitude: inUnit(pressureAltitudeM(i.quantity('pressure', 'kPa')), 'm'),
  }),
  'saturation vapour pressure over liquid water': (i) => ({
    vapourPressure: inUnit(saturationPressureOverLiquidKpa(i.quantity('temperature', 'degC')), 'kPa'),
  }),
  'saturation vapour pressure over ice': (i) => ({
    vapourPressure: inUnit(saturationPressureOverIceKpa(i.quantity('temperature', 'degC')), 'kPa'),
  }),
  'humidity ratio': humidityRatioHandler,
  'humidity ratio, real mixture': humidityRatioHandler,
  'dew point': (i) => ({ dewPoint: inUnit(airDewPointC(airState(i)), 'degC') }),
  'moist air density': (i) => ({ density: inUnit(moistAirDensityKgPerM3(airState(i)), 'kg/m3') }),
  'dry-air partial pressure': (i) => ({ dryPressure: inUnit(dryAirPressureKpa(airState(i)), 'kPa') }),
  'charge-air dew point': chargeDewPoint,
  'charge-air dew point, real mixture': chargeDewPoint,
  'charge-air condensate': chargeCondensate,
  'charge-air condensate, real mixture': chargeCondensate,
  'water mole fraction from dew point': (i) => {
    const vapourKpa = saturationPressureKpa(i.quantity('dewPoint', 'degC'));
    return { waterMoleFraction: vapourKpa === undefined ? undefined : vapourKpa / i.quantity('pressure', 'kPa') };
  },
  'water mole fraction from relative humidity': (i) => ({ waterMoleFraction: waterMoleFraction(airState(i)) }),
  'condensate of a cooled sample of moist air': (i) => {
    const state = airState(i);
    const ratio = humidityRatio(state);
    const condensate = chargeCondensateKgPerKgDryAir({
      ambient: state,
      chargeAbsKpa: state.pressureAbsKpa,
      outletTemperatureC: i.quantity('finalTemperature', 'degC'),
    });
    const known = ratio !== undefined && condensate !== undefined;
    const dryMassKg = known ? i.quantity('moistAirMass', 'kg') / (1 + ratio) : undefined;
    return {
      humidityRatio_kg_per_kg_dry_air: ratio,
      condensate: inUnit(known && dryMassKg !== undefined ? condensate * dryMassKg : undefined, 'kg'),
    };
  },
  'vapour pressure in compressed air from mass flows': (i) => ({ vapourPressure: inUnit(vapourOfFlowsKpa(i), 'kPa') }),
  'dew point of compressed air from mass flows': (i) => ({ dewPoint: inUnit(dewPointC(vapourOfFlowsKpa(i)), 'degC') }),
  'condensate rate of a compressor intercooler': (i) => {
    const ambient = {
      temperatureC: i.quantity('inletTemperature', 'degC'),
      relativeHumidityRatio: i.number('relativeHumidity'),
      pressureAbsKpa: i.quantity('inletPressure', 'kPa'),
    };
    const condensate = chargeCondensateKgPerKgDryAir({
      ambient,
      chargeAbsKpa: i.quantity('intercoolerPressure', 'kPa'),
      outletTemperatureC: i.quantity('outletTemperature', 'degC'),
    });
    const vapourKpa = vapourPressureKpa(ambient);
    const dryDensity =
      vapourKpa === undefined
        ? undefined
        : dryAirDensityKgPerM3({
            pressureAbsKpa: ambient.pressureAbsKpa - vapourKpa,
            temperatureC: ambient.temperatureC,
          });
    const known = condensate !== undefined && dryDensity !== undefined;
    const rate = known ? condensate * dryDensity * i.quantity('inletVolumeFlow', 'm3/s') : undefined;
    return { condensateRate: inUnit(rate, 'kg/s') };
  },
};

/** Charge-air density and flow: quantity of the check file to our functions. */
export const CHARGE_AIR_QUANTITIES: Readonly<Record<string, Handler>> = {
  'charge-air density': (i) => ({
    density: inUnit(
      dryAirDensityKgPerM3({
        pressureAbsKpa: i.quantity('pressureAbsolute', 'kPa'),
        temperatureC: i.quantity('temperature', 'degC'),
      }),
      'kg/m3',
    ),
  }),
  'density ratio': (i) => ({ densityRatio: chargeDensityRatio(i, i.quantity('chargeTemperature', 'degC')) }),
  'density ratio after compression, no cooler': (i) => {
    const ambientC = i.quantity('ambientTemperature', 'degC');
    const ratio = i.number('pressureRatio');
    const outletC = compressorOutletTemperatureC({
      inletTemperatureC: ambientC,
      pressureRatio: ratio,
      heatCapacityRatio: i.number('gamma'),
      isentropicEfficiency: i.number('isentropicEfficiency'),
    });
    const ambientAbsKpa = i.quantity('ambientPressure', 'kPa');
    if (outletC === undefined) return { densityRatio: undefined };
    const states = {
      ambientAbsKpa,
      ambientTemperatureC: ambientC,
      chargeAbsKpa: ambientAbsKpa * ratio,
      chargeTemperatureC: outletC,
    };
    return { densityRatio: densityRatio(states) };
  },
  'density ratio with and without charge cooling back to ambient': (i) => {
    const ambientC = i.quantity('ambientTemperature', 'degC');
    const pressureRatio = i.quantity('chargePressureAbsolute', 'kPa') / i.quantity('ambientPressure', 'kPa');
    const hotC = isentropicOutletTemperatureC({
      inletTemperatureC: ambientC,
      pressureRatio,
      heatCapacityRatio: i.number('gamma'),
    });
    return {
      densityRatioCooled: chargeDensityRatio(i, ambientC),
      densityRatioUncooled: hotC === undefined ? undefined : chargeDensityRatio(i, hotC),
    };
  },
  'air mass flow of a four-stroke engine (speed-density)': (i) => ({
    airFlow: inUnit(
      speedDensityAirFlowKgPerS({
        ...fourStroke(i),
        volumetricEfficiency: i.number('volumetricEfficiency'),
        manifoldAbsKpa: i.quantity('manifoldPressureAbsolute', 'kPa'),
        manifoldTemperatureC: i.quantity('manifoldTemperature', 'degC'),
      }),
      'kg/s',
    ),
  }),
  'volumetric efficiency from a measured air flow': (i) => ({
    volumetricEfficiency: volumetricEfficiency({
      ...fourStroke(i),
      airFlowKgPerS: i.quantity('airFlow', 'kg/s'),
      referenceAbsKpa: i.quantity('referencePressure', 'kPa'),
      referenceTemperatureC: i.quantity('referenceTemperature', 'degC'),
    }),
  }),
};

/** A four-stroke engine's displacement and speed. */
export function fourStroke(i: Inputs): { displacementL: number; speedRpm: number; strokes: 4 } {
  return { displacementL: i.quantity('displacement', 'L'), speedRpm: i.quantity('speed', 'rpm'), strokes: 4 };
}

function atmosphere(altitudeM: number): ReturnType<Handler> {
  const air = standardAtmosphere({ geopotentialAltitudeM: altitudeM });
  return {
    temperature: inUnit(air?.temperatureC, 'degC'),
    pressure: inUnit(air?.pressureAbsKpa, 'kPa'),
    density: inUnit(air?.densityKgPerM3, 'kg/m3'),
  };
}

function airState(i: Inputs) {
  return {
    temperatureC: i.quantity('temperature', 'degC'),
    relativeHumidityRatio: i.number('relativeHumidity'),
    pressureAbsKpa: i.quantity('pressure', 'kPa'),
  };
}

function ambientState(i: Inputs) {
  return {
    temperatureC: i.quantity('ambientTemperature', 'degC'),
    relativeHumidityRatio: i.number('relativeHumidity'),
    pressureAbsKpa: i.quantity('ambientPressure', 'kPa'),
  };
}

// The published example behind these cases rounds the molar masses to 18 and 29 (the tolerance of the case says so); with
// exact ones the vapour pressure is 0.2 % lower.
const ROUNDED_MOLAR_MASS_RATIO = 18 / 29;

function vapourOfFlowsKpa(i: Inputs): number {
  return vapourPressureOfHumidityRatioKpa({
    humidityRatio: i.quantity('waterVapourFlow', 'kg/s') / i.quantity('dryAirFlow', 'kg/s'),
    pressureAbsKpa: i.quantity('pressure', 'kPa'),
    molarMassRatio: ROUNDED_MOLAR_MASS_RATIO,
  });
}

function chargeDensityRatio(i: Inputs, chargeTemperatureC: number): number | undefined {
  return densityRatio({
    ambientAbsKpa: i.quantity('ambientPressure', 'kPa'),
    ambientTemperatureC: i.quantity('ambientTemperature', 'degC'),
    chargeAbsKpa: i.quantity('chargePressureAbsolute', 'kPa'),
    chargeTemperatureC,
  });
}
