import { DRY_AIR_GAS_CONSTANT_KJ_PER_KGK } from './air-density.ts';
import { bracketedRoot } from './bracketed-root.ts';
import { celsius, kelvin } from './kelvin.ts';

// Dry air as an ideal gas, 200 to 1000 K: cp/R = a1/T^2 + a2/T + a3 + a4 T + a5 T^2 + a6 T^3 + a7 T^4.
// McBride, Zehe and Gordon, NASA/TP-2002-211556 (2002), species "Air".
const A1 = 1.00995016e4;
const A2 = -1.96827561e2;
const A3 = 5.00915511;
const A4 = -5.76101373e-3;
const A5 = 1.06685993e-5;
const A6 = -7.94029797e-9;
const A7 = 2.18523191e-12;
const COLDEST_K = 200;
const HOTTEST_K = 1000;

/**
 * Specific heat capacity of dry air at constant pressure in kJ/(kg K), which grows with temperature.
 *
 * @param temperatureC - From -73 to 727 °C.
 * @returns `undefined` outside that range.
 */
export function airHeatCapacityKjPerKgK(temperatureC: number): number | undefined {
  const t = kelvin(temperatureC);
  if (!inRange(t)) return undefined;
  const reduced = A1 / t ** 2 + A2 / t + A3 + t * (A4 + t * (A5 + t * (A6 + t * A7)));
  return DRY_AIR_GAS_CONSTANT_KJ_PER_KGK * reduced;
}

/**
 * Rise of specific enthalpy of dry air between two temperatures, kJ/kg: what a compressor puts in and a cooler takes out.
 *
 * @returns Below zero when the air cools; `undefined` outside -73 to 727 °C.
 */
export function airEnthalpyRiseKjPerKg(p: { fromC: number; toC: number }): number | undefined {
  const from = kelvin(p.fromC);
  const to = kelvin(p.toC);
  if (!inRange(from) || !inRange(to)) return undefined;
  return DRY_AIR_GAS_CONSTANT_KJ_PER_KGK * (reducedEnthalpyK(to) - reducedEnthalpyK(from));
}

/**
 * Temperature in °C of dry air after isentropic compression or expansion, with the specific heat that grows with temperature.
 *
 * Solves `s(T2) - s(T1) = R ln(p2/p1)`. Within 0.25 K of real air (reference equation of state) up to a pressure ratio of 5.
 *
 * @param p.inletTemperatureC - °C.
 * @param p.pressureRatio - Outlet over inlet, both absolute; above zero.
 * @returns `undefined` when inlet or outlet lies outside -73 to 727 °C.
 */
export function isentropicAirTemperatureC(p: { inletTemperatureC: number; pressureRatio: number }): number | undefined {
  const inletK = kelvin(p.inletTemperatureC);
  if (!inRange(inletK) || !(p.pressureRatio > 0)) return undefined;
  const target = reducedEntropy(inletK) + Math.log(p.pressureRatio);
  const outletK = bracketedRoot({ of: (t) => reducedEntropy(t) - target, low: COLDEST_K, high: HOTTEST_K });
  return outletK === undefined ? undefined : celsius(outletK);
}

function inRange(t: number): boolean {
  return t >= COLDEST_K && t <= HOTTEST_K;
}

/** Enthalpy over the gas constant, K, from an arbitrary zero. */
function reducedEnthalpyK(t: number): number {
  return -A1 / t + A2 * Math.log(t) + t * (A3 + t * (A4 / 2 + t * (A5 / 3 + t * (A6 / 4 + (t * A7) / 5))));
}

/** Entropy at constant pressure over the gas constant, from an arbitrary zero. */
function reducedEntropy(t: number): number {
  return -A1 / (2 * t ** 2) - A2 / t + A3 * Math.log(t) + t * (A4 + t * (A5 / 2 + t * (A6 / 3 + (t * A7) / 4)));
}
