/** What the surroundings and the driver impose on the gas path. One object, refilled for each sample. */
export type Conditions = {
  speedRpm: number;
  /** Fuel really injected, kg/s. */
  fuelKgS: number;
  /** Fuel by fuel at the design point, as commanded: what the boost target is looked up by. */
  fuelRatio: number;
  barometerKpa: number;
  /** Before the air filter, K. */
  inletK: number;
  /** Cooling medium at the cooler's inlet, K. */
  sinkK: number;
  coolantK: number;
  /** Flow of the cooling medium by its design flow (road speed and fan, or pump speed). */
  mediumFlowRatio: number;
};

/**
 * The gas path's state: the answer of the last solution, which is also the start of the next one. Mutable and reused on
 * purpose: hundreds of thousands of samples a second leave no time to allocate.
 */
export type GasState = {
  /** The unknown that was solved for: manifold pressure, kPa absolute (blower-scavenged: pressure before the blower). */
  unknownKpa: number;
  /** Change of the residual with the unknown at the last solution, 1/kPa; below zero. */
  slope: number;
  manifoldKpa: number;
  manifoldK: number;
  /** Air into the cylinders and air through the compressor, kg/s: they differ by the leaks. */
  cylinderAirKgS: number;
  compressorAirKgS: number;
  filterDropKpa: number;
  coolerDropKpa: number;
  compressorInletKpa: number;
  compressorOutletKpa: number;
  compressorOutletK: number;
  interstageK: number;
  effectiveness: number;
  mediumOutletK: number;
  exhaustK: number;
  exhaustKpa: number;
  turbineOutletK: number;
  turbineOutletKpa: number;
  gateShare: number;
  vaneOpening: number;
  shaftRpm: number;
};

/** A state to start from: air at rest. */
export function restingGasState(barometerKpa = 100, temperatureK = 298): GasState {
  return {
    unknownKpa: barometerKpa,
    slope: -0.004,
    manifoldKpa: barometerKpa,
    manifoldK: temperatureK,
    cylinderAirKgS: 0,
    compressorAirKgS: 0,
    filterDropKpa: 0,
    coolerDropKpa: 0,
    compressorInletKpa: barometerKpa,
    compressorOutletKpa: barometerKpa,
    compressorOutletK: temperatureK,
    interstageK: temperatureK,
    effectiveness: 0.8,
    mediumOutletK: temperatureK,
    exhaustK: temperatureK,
    exhaustKpa: barometerKpa,
    turbineOutletK: temperatureK,
    turbineOutletKpa: barometerKpa,
    gateShare: 0,
    vaneOpening: 0,
    shaftRpm: 0,
  };
}
