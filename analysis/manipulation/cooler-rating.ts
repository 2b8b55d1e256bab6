import type { Arrangement } from './arrangement.ts';
import { effectiveness } from './effectiveness.ts';
import { transferUnits } from './transfer-units.ts';

/** Capacity rates of the two streams: mass flow times specific heat, kW/K. */
export type CapacityRates = {
  readonly hotKwPerK: number;
  readonly coldKwPerK: number;
};

/** What a heat exchanger does at one point. */
export type Rating = {
  readonly effectiveness: number;
  readonly ntu: number;
  readonly heatRateKw: number;
  readonly hotOutC: number;
  readonly coldOutC: number;
};

/**
 * What a heat exchanger of known surface and coefficient does: its effectiveness, heat rate and outlet temperatures.
 *
 * @param p.uaKwPerK - Overall coefficient times area, kW/K, not below zero.
 * @param p.hotInC - Inlet of the hot stream (charge air), °C.
 * @param p.coldInC - Inlet of the cold stream (coolant, sea water, ambient air), °C.
 * @returns `undefined` when a capacity rate is not above zero, or where `effectiveness` is undefined.
 */
export function ratedCooler(
  p: CapacityRates & { arrangement: Arrangement; uaKwPerK: number; hotInC: number; coldInC: number },
): Rating | undefined {
  const least = Math.min(p.hotKwPerK, p.coldKwPerK);
  if (!(least > 0 && p.uaKwPerK >= 0)) return undefined;
  const ntu = p.uaKwPerK / least;
  const reached = effectiveness({ arrangement: p.arrangement, ntu, capacityRatio: capacityRatioOf(p) });
  if (reached === undefined) return undefined;
  const heatRateKw = reached * least * (p.hotInC - p.coldInC);
  return {
    effectiveness: reached,
    ntu,
    heatRateKw,
    hotOutC: p.hotInC - heatRateKw / p.hotKwPerK,
    coldOutC: p.coldInC + heatRateKw / p.coldKwPerK,
  };
}

/** A charge-air cooler as its temperatures show it. */
export type MeasuredCooler = {
  /** Heat taken out of the air, kW. */
  readonly heatRateKw: number;
  /** Heat over the most possible, `Cmin (Tair,in - Tcoolant,in)`. */
  readonly effectiveness: number;
  /** `(Tair,in - Tair,out) / (Tair,in - Tcoolant,in)`: equal to `effectiveness` only while air is the smaller stream. */
  readonly airTemperatureEffectiveness: number;
  readonly ntu: number;
  readonly uaKwPerK: number;
};

/**
 * Overall coefficient times area of a charge-air cooler from measured air temperatures and both flows.
 *
 * @param p.airKwPerK - Air flow times specific heat, kW/K.
 * @param p.coolantKwPerK - Coolant flow times specific heat, kW/K.
 * @param p.airInC - Air before the cooler, °C.
 * @param p.airOutC - Air after the cooler, °C.
 * @param p.coolantInC - Coolant entering, °C; below `airInC`.
 * @returns `undefined` when the air enters no hotter than the coolant or warms up, when a capacity rate is not above zero,
 *   and when the effectiveness lies at or above the arrangement's ceiling: then a reading is wrong.
 */
export function measuredCooler(p: {
  arrangement: Arrangement;
  airKwPerK: number;
  coolantKwPerK: number;
  airInC: number;
  airOutC: number;
  coolantInC: number;
}): MeasuredCooler | undefined {
  const airSide = airTemperatureEffectiveness(p);
  const least = Math.min(p.airKwPerK, p.coolantKwPerK);
  if (airSide === undefined || !(airSide >= 0 && least > 0)) return undefined;
  const reached = (airSide * p.airKwPerK) / least;
  const capacityRatio = capacityRatioOf({ hotKwPerK: p.airKwPerK, coldKwPerK: p.coolantKwPerK });
  const ntu = transferUnits({ arrangement: p.arrangement, effectiveness: reached, capacityRatio });
  if (ntu === undefined) return undefined;
  return {
    heatRateKw: p.airKwPerK * (p.airInC - p.airOutC),
    effectiveness: reached,
    airTemperatureEffectiveness: airSide,
    ntu,
    uaKwPerK: ntu * least,
  };
}

/**
 * Temperature effectiveness of the air side: fall of the air's temperature over the whole span to the coolant's inlet. Needs
 * no flow, so it is what most installations can watch; it falls with air flow even on a clean cooler.
 *
 * @returns Fraction, below zero when the air warms up; `undefined` when the air enters less than 1 K hotter than the coolant:
 *   the quotient is then noise.
 */
export function airTemperatureEffectiveness(p: {
  airInC: number;
  airOutC: number;
  coolantInC: number;
}): number | undefined {
  const spanK = p.airInC - p.coolantInC;
  return spanK >= LEAST_SPAN_K ? (p.airInC - p.airOutC) / spanK : undefined;
}

/** Capacity rate ratio `Cmin / Cmax` of two streams; both rates above zero. */
export function capacityRatioOf(p: CapacityRates): number {
  return Math.min(p.hotKwPerK, p.coldKwPerK) / Math.max(p.hotKwPerK, p.coldKwPerK);
}

/** One sensor error of span at most equals the span; common practice, no source. */
const LEAST_SPAN_K = 1;
