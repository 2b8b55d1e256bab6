import { speedDensityAirFlowKgPerS } from '../../analysis/manipulation/air-flow.ts';
import {
  compressorIsentropicEfficiency,
  isentropicOfPolytropicEfficiency,
  polytropicEfficiency,
} from '../../analysis/manipulation/compressor-efficiency.ts';
import {
  compressorPowerKw,
  isentropicWorkKjPerKg,
  perfectGasHeatCapacityKjPerKgK,
} from '../../analysis/manipulation/compressor-power.ts';
import {
  type Compression,
  compressorOutletTemperatureC,
  isentropicOutletTemperatureC,
} from '../../analysis/manipulation/compressor-temperature.ts';
import { absolutePressureKpa, compressorPressureRatio } from '../../analysis/manipulation/pressure-ratio.ts';
import {
  compressorPowerShare,
  turbineOutletTemperatureC,
  turbineTemperatureDropK,
} from '../../analysis/manipulation/turbine.ts';
import { fourStroke } from './thermo-air.ts';
import { type Handler, type Inputs, inUnit } from './thermo-inputs.ts';

const isentropicOutlet: Handler = (i) => ({
  isentropicOutletTemperature: inUnit(isentropicOutletTemperatureC(compression(i)), 'degC'),
});

const isentropicEfficiency: Handler = (i) => ({
  isentropicEfficiency: compressorIsentropicEfficiency({
    ...compression(i),
    outletTemperatureC: i.quantity('outletTemperature', 'degC'),
  }),
});

const power: Handler = (i) => ({ power: inUnit(powerKw(i), 'kW') });

/** Compressor and turbine: quantity of the check file to our functions. */
export const COMPRESSOR_QUANTITIES: Readonly<Record<string, Handler>> = {
  'isentropic outlet temperature': isentropicOutlet,
  'isentropic outlet temperature, real air': isentropicOutlet,
  'compressor outlet temperature': (i) => ({ outletTemperature: inUnit(outletC(i), 'degC') }),
  'compressor isentropic efficiency': isentropicEfficiency,
  'compressor isentropic efficiency, real air': isentropicEfficiency,
  'compressor power': power,
  'compressor power, real air': power,
  'compressor shaft power': power,
  'compressor outlet temperature and power': (i) => ({
    outletTemperature: inUnit(outletC(i), 'degC'),
    power: inUnit(powerKw(i), 'kW'),
  }),
  'isentropic specific work': (i) => {
    const gasConstant = i.optionalNumber('gasConstant_J_per_kgK');
    const work = isentropicWorkKjPerKg({
      inletTemperatureC: i.quantity('inletTemperature', 'degC'),
      pressureRatio: pressureRatio(i),
      heatCapacityRatio: i.number('gamma'),
      ...(gasConstant === undefined ? {} : { gasConstantKjPerKgK: gasConstant / 1000 }),
    });
    return { specificWork_J_per_kg: work === undefined ? undefined : work * 1000 };
  },
  'polytropic efficiency': (i) => ({
    polytropicEfficiency: polytropicEfficiency({
      pressureRatio: pressureRatio(i),
      heatCapacityRatio: i.number('gamma'),
      isentropicEfficiency: i.number('isentropicEfficiency'),
    }),
  }),
  'isentropic efficiency from polytropic efficiency': (i) => ({ isentropicEfficiency: fromPolytropic(i) }),
  'outlet temperature from polytropic efficiency': (i) => {
    const efficiency = fromPolytropic(i);
    const outlet =
      efficiency === undefined
        ? undefined
        : compressorOutletTemperatureC({ ...compression(i), isentropicEfficiency: efficiency });
    return { outletTemperature: inUnit(outlet, 'degC') };
  },
  'turbine outlet temperature': (i) => ({
    outletTemperature: inUnit(
      turbineOutletTemperatureC({
        inletTemperatureC: i.quantity('inletTemperature', 'degC'),
        expansionRatio: 1 / pressureRatio(i),
        heatCapacityRatio: i.number('gamma'),
        isentropicEfficiency: i.number('isentropicEfficiency'),
      }),
      'degC',
    ),
  }),
  'compressor power over turbine power': powerShare,
  'compressor pressure ratio from gauge boost': (i) => ({
    pressureRatio: compressorPressureRatio({
      boostGaugeKpa: i.quantity('boostGaugeAfterCooler', 'kPa'),
      barometricAbsKpa: i.quantity('barometric', 'kPa'),
      inletDepressionKpa: i.optionalQuantity('inletDepression', 'kPa') ?? 0,
      coolerPressureDropKpa: i.optionalQuantity('coolerPressureDrop', 'kPa') ?? 0,
    }),
  }),
  'absolute pressure from gauge': (i) => ({
    pressureAbsolute: inUnit(
      absolutePressureKpa({ gaugeKpa: i.quantity('gauge', 'kPa'), barometricAbsKpa: i.quantity('barometric', 'kPa') }),
      'kPa',
    ),
  }),
  'charge-air cooler heat rate': coolerHeatRate,
};

function compression(i: Inputs): Compression {
  const gamma = i.optionalNumber('gamma');
  return {
    inletTemperatureC: i.quantity('inletTemperature', 'degC'),
    pressureRatio: pressureRatio(i),
    ...(gamma === undefined ? {} : { heatCapacityRatio: gamma }),
  };
}

function pressureRatio(i: Inputs): number {
  return i.optionalNumber('pressureRatio') ?? i.quantity('outletPressure', 'kPa') / i.quantity('inletPressure', 'kPa');
}

function outletC(i: Inputs): number | undefined {
  return compressorOutletTemperatureC({ ...compression(i), isentropicEfficiency: i.number('isentropicEfficiency') });
}

function fromPolytropic(i: Inputs): number | undefined {
  return isentropicOfPolytropicEfficiency({
    pressureRatio: pressureRatio(i),
    heatCapacityRatio: i.number('gamma'),
    polytropicEfficiency: i.number('polytropicEfficiency'),
  });
}

// The outlet is given, or follows from the efficiency; the specific heat is given, follows from gamma, or is real air's.
function powerKw(i: Inputs): number | undefined {
  const outletTemperatureC = i.optionalQuantity('outletTemperature', 'degC') ?? outletC(i);
  if (outletTemperatureC === undefined) return undefined;
  const heatCapacity = heatCapacityKjPerKgK(i);
  const mechanicalEfficiency = i.optionalNumber('mechanicalEfficiency');
  return compressorPowerKw({
    airFlowKgPerS: i.quantity('airFlow', 'kg/s'),
    inletTemperatureC: i.quantity('inletTemperature', 'degC'),
    outletTemperatureC,
    ...(heatCapacity === undefined ? {} : { heatCapacityKjPerKgK: heatCapacity }),
    ...(mechanicalEfficiency === undefined ? {} : { mechanicalEfficiency }),
  });
}

function heatCapacityKjPerKgK(i: Inputs): number | undefined {
  const given = i.optionalNumber('cp_J_per_kgK');
  if (given !== undefined) return given / 1000;
  const gamma = i.optionalNumber('gamma');
  return gamma === undefined ? undefined : perfectGasHeatCapacityKjPerKgK({ heatCapacityRatio: gamma });
}

function powerShare(i: Inputs): ReturnType<Handler> {
  const inletTemperatureC = i.quantity('inletTemperature', 'degC');
  const outletTemperatureC = compressorOutletTemperatureC({
    inletTemperatureC,
    pressureRatio: pressureRatio(i),
    heatCapacityRatio: i.number('gammaAir'),
    isentropicEfficiency: i.number('compressorEfficiency'),
  });
  const gasDropK = turbineTemperatureDropK({
    inletTemperatureC: i.quantity('turbineInletTemperature', 'degC'),
    expansionRatio: i.quantity('turbineInletPressure', 'kPa') / i.quantity('turbineOutletPressure', 'kPa'),
    heatCapacityRatio: i.number('gammaGas'),
    isentropicEfficiency: i.number('turbineEfficiency'),
  });
  if (outletTemperatureC === undefined || gasDropK === undefined) return { powerShare: undefined };
  return {
    powerShare: compressorPowerShare({
      airFuelRatio: i.number('airFuelRatio'),
      airRiseK: outletTemperatureC - inletTemperatureC,
      airHeatCapacityKjPerKgK: i.number('cpAir_J_per_kgK') / 1000,
      gasDropK,
      gasHeatCapacityKjPerKgK: i.number('cpGas_J_per_kgK') / 1000,
    }),
  };
}

function coolerHeatRate(i: Inputs): ReturnType<Handler> {
  const ambientAbsKpa = i.quantity('ambientPressure', 'kPa');
  const ambientTemperatureC = i.quantity('ambientTemperature', 'degC');
  const airFlowKgPerS = speedDensityAirFlowKgPerS({
    ...fourStroke(i),
    volumetricEfficiency: i.number('volumetricEfficiencyOnAmbient'),
    manifoldAbsKpa: ambientAbsKpa,
    manifoldTemperatureC: ambientTemperatureC,
  });
  const hotC = compressorOutletTemperatureC({
    inletTemperatureC: ambientTemperatureC,
    pressureRatio: i.quantity('chargePressureAbsolute', 'kPa') / ambientAbsKpa,
    heatCapacityRatio: i.number('gamma'),
    isentropicEfficiency: i.number('isentropicEfficiency'),
  });
  if (airFlowKgPerS === undefined || hotC === undefined) return { heatRate: inUnit(undefined, 'kW') };
  const heatCapacity = heatCapacityKjPerKgK(i);
  // Heating from the cooler's outlet to its inlet takes the heat that cooling gives off.
  const heatRateKw = compressorPowerKw({
    airFlowKgPerS,
    inletTemperatureC: i.quantity('coolerOutletTemperature', 'degC'),
    outletTemperatureC: hotC,
    ...(heatCapacity === undefined ? {} : { heatCapacityKjPerKgK: heatCapacity }),
  });
  return { heatRate: inUnit(heatRateKw, 'kW') };
}
