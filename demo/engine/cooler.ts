/** How a charge-air cooler was sized: its effectiveness at a design flow. */
export type CoolerDesign = {
  readonly effectiveness: number;
  readonly airFlowKgS: number;
  /** Capacity flow of the charge air by that of the cooling medium, at design. */
  readonly capacityRatio: number;
  /** Air-side drop at design flow and density, kPa. */
  readonly dropKpa: number;
  /** Density of the charge air at design, kg/m³. */
  readonly densityKgM3: number;
};

/** Number of transfer units that gives the design effectiveness in counterflow (inverse of the standard relation). */
export function designTransferUnits(design: CoolerDesign): number {
  const { effectiveness: e, capacityRatio: c } = design;
  return Math.log((1 - e * c) / (1 - e)) / (1 - c);
}

/**
 * Effectiveness of the cooler from its number of transfer units: conductance grows with the root of air flow,
 * so effectiveness falls as flow rises, and a starved cooling medium raises the capacity ratio.
 *
 * @param p.transferUnits - At design, from {@link designTransferUnits}.
 * @param p.flowRatio - Air flow by design air flow, above zero.
 * @param p.conductanceFactor - 1 clean; below 1 fouled on either side.
 * @param p.mediumFlowFactor - 1 at design flow of the cooling medium.
 */
export function coolerEffectiveness(p: {
  transferUnits: number;
  capacityRatio: number;
  flowRatio: number;
  conductanceFactor: number;
  mediumFlowFactor: number;
}): number {
  // The cooling-medium film is the smaller resistance: the square root damps what its flow does to conductance.
  const medium = Math.sqrt(Math.sqrt(p.mediumFlowFactor));
  const units = (p.transferUnits * p.conductanceFactor * medium) / Math.sqrt(p.flowRatio);
  const capacity = (p.capacityRatio * p.flowRatio) / p.mediumFlowFactor;
  const gap = 1 - capacity;
  if (gap < 1e-3 && gap > -1e-3) return units / (1 + units);
  const decay = Math.exp(-units * gap);
  return (1 - decay) / (1 - capacity * decay);
}
