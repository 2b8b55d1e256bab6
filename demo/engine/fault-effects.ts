/**
 * Everything that can go wrong in the modelled engine, as numbers; the neutral value of each is a healthy engine.
 * A fault of any size is a point between neutral and its full size, so growth is one number from 0 to 1.
 */
export type FaultEffects = {
  leakAfterCoolerMm: number;
  leakBeforeCoolerMm: number;
  /** Multiplies the flow resistance of the air filter. */
  filterFactor: number;
  /** Multiplies the heat conductance of the charge-air cooler. */
  coolerConductanceFactor: number;
  /** Multiplies the air-side resistance of the cooler. */
  coolerDropFactor: number;
  /** Multiplies the flow of the cooling medium (seawater pump, strainer, blocked radiator face). */
  mediumFlowFactor: number;
  /** Least share of exhaust that passes the gate: above 0, it does not seat. */
  gateLeakShare: number;
  /** Multiplies the opening of the gate: 0 means stuck closed. */
  gateOpeningFactor: number;
  /** Raises the boost the gate or vanes control to, kPa (tampered or mis-set control). */
  boostTargetRaiseKpa: number;
  /** Least and largest vane opening, 0 closed to 1 open: between them the vanes still move. */
  vaneOpeningMin: number;
  vaneOpeningMax: number;
  /** Taken off the compressor's isentropic efficiency (0.02 = two points). */
  compressorEfficiencyLoss: number;
  turbineEfficiencyFactor: number;
  turbineAreaFactor: number;
  exhaustLeakMm: number;
  backPressureFactor: number;
  /** Share of turbine power lost in the bearings beyond the healthy loss. */
  bearingLossShare: number;
  oilPumpFactor: number;
  /** Multiplies the pressure that reaches the turbocharger (choked supply line). */
  oilSupplyFactor: number;
  oilClearanceFactor: number;
  /** Fuel really injected by fuel commanded and reported. */
  fuelDeliveryFactor: number;
  /** Multiplies the share of fuel heat that leaves with the exhaust (late injection). */
  exhaustHeatFactor: number;
  volumetricEfficiencyFactor: number;
};

/** A healthy engine. */
export const HEALTHY: Readonly<FaultEffects> = {
  leakAfterCoolerMm: 0,
  leakBeforeCoolerMm: 0,
  filterFactor: 1,
  coolerConductanceFactor: 1,
  coolerDropFactor: 1,
  mediumFlowFactor: 1,
  gateLeakShare: 0,
  gateOpeningFactor: 1,
  boostTargetRaiseKpa: 0,
  vaneOpeningMin: 0,
  vaneOpeningMax: 1,
  compressorEfficiencyLoss: 0,
  turbineEfficiencyFactor: 1,
  turbineAreaFactor: 1,
  exhaustLeakMm: 0,
  backPressureFactor: 1,
  bearingLossShare: 0,
  oilPumpFactor: 1,
  oilSupplyFactor: 1,
  oilClearanceFactor: 1,
  fuelDeliveryFactor: 1,
  exhaustHeatFactor: 1,
  volumetricEfficiencyFactor: 1,
};

const KEYS = Object.keys(HEALTHY) as (keyof FaultEffects)[];

/** Moves `target` from where it is towards a fault's full size by `severity` (0 to 1), in place. */
export function addFault(target: FaultEffects, full: Partial<FaultEffects>, severity: number): void {
  for (const key of KEYS) {
    const size = full[key];
    if (size !== undefined) target[key] += (size - HEALTHY[key]) * severity;
  }
}
