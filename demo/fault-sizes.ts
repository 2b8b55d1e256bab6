import type { FaultEffects } from './engine/fault-effects.ts';
import type { SensorFault } from './fault-plan.ts';

/** A fault at its reference size, severity 1: what a fitter would call plain to find, not yet a breakdown. */
export type FaultSize = { readonly effects?: Partial<FaultEffects>; readonly sensor?: SensorFault };

/**
 * Every fault the engine model can show, by its id in the table of faults and symptoms. Holes are those of an engine of
 * about 12 L; {@link scaledFault} fits them to other sizes.
 */
export const FAULT_SIZES = {
  boost_leak_after_cooler: { effects: { leakAfterCoolerMm: 10 } },
  boost_leak_before_cooler: { effects: { leakBeforeCoolerMm: 10 } },
  intake_restriction: { effects: { filterFactor: 3 } },
  cac_air_side_fouled: { effects: { coolerConductanceFactor: 0.65, coolerDropFactor: 1.8 } },
  cac_coolant_side_fouled: { effects: { coolerConductanceFactor: 0.62 } },
  coolant_flow_low: { effects: { mediumFlowFactor: 0.45 } },
  wastegate_stuck_open: { effects: { gateLeakShare: 0.08 } },
  wastegate_stuck_closed: { effects: { gateOpeningFactor: 0 } },
  vgt_stuck_open: { effects: { vaneOpeningMin: 0.8 } },
  vgt_stuck_closed: { effects: { vaneOpeningMax: 0.02 } },
  compressor_fouled: { effects: { compressorEfficiencyLoss: 0.06 } },
  turbine_efficiency_loss: { effects: { turbineEfficiencyFactor: 0.92 } },
  nozzle_fouled: { effects: { turbineAreaFactor: 0.93 } },
  exhaust_leak_before_turbine: { effects: { exhaustLeakMm: 12 } },
  exhaust_back_pressure_high: { effects: { backPressureFactor: 3 } },
  bearing_wear_or_rub: { effects: { bearingLossShare: 0.07, oilClearanceFactor: 1.1 } },
  oil_supply_low: { effects: { oilPumpFactor: 0.72, oilSupplyFactor: 0.88 } },
  fuel_delivery_low: { effects: { fuelDeliveryFactor: 0.93 } },
  injection_late: { effects: { exhaustHeatFactor: 1.06 } },
  overfuelling_or_injector_leak: { effects: { fuelDeliveryFactor: 1.08 } },
  volumetric_efficiency_loss: { effects: { volumetricEfficiencyFactor: 0.93 } },
  sensor_boost_drift: { sensor: { key: 'boostPressure', offset: -15 } },
  sensor_im_minus_sink_drift: { sensor: { key: 'intakeManifoldTemperature', offset: 8 } },
  sensor_egt_pre_turbine_drift: { sensor: { key: 'exhaustTemperature', offset: -40 } },
  sensor_oil_pressure_drift: { sensor: { key: 'oilPressure', offset: -60 } },
  pressure_reference_mixup: { sensor: { key: 'boostPressure', offset: 101.3 } },
} as const satisfies { readonly [faultId: string]: FaultSize };

export type ModelledFault = keyof typeof FAULT_SIZES;

/** The reference size with its holes scaled to an engine: equal hole area by displacement means equal trouble. */
export function scaledFault(faultId: ModelledFault, displacementL: number): FaultSize {
  const size: FaultSize = FAULT_SIZES[faultId];
  if (size.effects === undefined) return size;
  const hole = Math.sqrt(displacementL / 12.7);
  const effects: Partial<FaultEffects> = { ...size.effects };
  for (const key of ['leakAfterCoolerMm', 'leakBeforeCoolerMm', 'exhaustLeakMm'] as const) {
    const diameterMm = effects[key];
    if (diameterMm !== undefined) effects[key] = diameterMm * hole;
  }
  return { ...size, effects };
}
