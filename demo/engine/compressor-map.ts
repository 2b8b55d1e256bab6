/** What a compressor was chosen for: the centre of its efficiency island. */
export type CompressorDesign = {
  readonly peakEfficiency: number;
  /** Flow referred to 298 K and 100 kPa at the centre, kg/s. */
  readonly flowKgS: number;
  readonly pressureRatio: number;
  /** Shaft speed at the centre, rpm. */
  readonly shaftRpm: number;
};

/**
 * Isentropic efficiency away from the island's centre: a paraboloid around a ridge that moves to larger flow with the
 * pressure ratio, never below 0.45. The shape is that of published maps; no particular machine's.
 */
export function compressorEfficiency(
  design: CompressorDesign,
  correctedFlowKgS: number,
  pressureRatio: number,
): number {
  const load = (pressureRatio - 1) / (design.pressureRatio - 1);
  const ridge = design.flowKgS * (0.42 + 0.58 * load);
  const offRidge = correctedFlowKgS / ridge - 1;
  const offPeak = load - 1;
  const efficiency = design.peakEfficiency * (1 - 0.28 * offRidge * offRidge - 0.06 * offPeak * offPeak);
  return Math.max(efficiency, 0.45);
}

/**
 * Shaft speed that gives a specific work, rpm. The work factor falls a little with flow (backswept blades), where a
 * constant one would make speed depend on work alone.
 *
 * @param workRatio - Specific work by the specific work at the centre, zero or more.
 * @param flowRatio - Corrected flow by the flow at the centre.
 */
export function compressorShaftRpm(design: CompressorDesign, workRatio: number, flowRatio: number): number {
  const workFactor = 1.08 - 0.08 * flowRatio;
  return design.shaftRpm * Math.sqrt(Math.max(workRatio, 0) / Math.max(workFactor, 0.7));
}
