/**
 * Every threshold of the analysis, with its unit and where it comes from. The engine maker's limits are not here:
 * they stand in the fleet file, unit by unit.
 */

/** Steady operating points. Source: common practice, no source; regulatory bench modes hold a load for minutes. */
export const STEADY = {
  /** Speed may wander by this share of rated speed around the mean of the run. */
  speedToleranceRatio: 0.025,
  /** Fuel rate or load may wander by this share of the rated value. */
  loadToleranceRatio: 0.05,
  /** A silence longer than this ends a run, whatever the sampling interval. */
  maxGapMs: 150_000,
  /** A speed or load that is not repeated holds for this long, then it has expired. */
  holdMs: 15_000,
  /** Fewest samples that make a point. */
  minSamples: 3,
  /** Below this share of rated speed the engine does not count as running. */
  runningSpeedRatio: 0.15,
  /** After a start, oil and metal are far from steady; points within this time are kept out. */
  warmUpMs: 15 * 60_000,
} as const;

/** Learning of the expectation. Source: chosen on the demo's engine model, checked by its measured false-finding rate. */
export const LEARNING = {
  minRunningHours: 40,
  minPoints: 70,
  /** Pool bound; when it is full every second point is dropped, so early and late hours stay represented. */
  maxPoints: 320,
  /** Fewest points that a channel's own fit may rest on. */
  minChannelPoints: 50,
  folds: 5,
  /** After this many running hours a channel that never had enough points is given up until new maintenance. */
  giveUpRunningHours: 400,
} as const;

/** Judging. Source: chosen on the demo's engine model, checked by its measured delays and false-finding rate. */
export const JUDGING = {
  /** Running time that is averaged into one tick of the charts. */
  tickRunningMs: 3_600_000,
  /** A reading is judged when the expectation's own standard deviation is at most this share of a point's spread. */
  maxPredictionSdRatio: 1,
  /** Speed and load may lie this far beyond what was seen, in shares of rated. */
  envelopeMarginRatio: 0.03,
  /** A single tick enters the charts cut at this many standard deviations, so one odd hour cannot raise a finding. */
  clipStandardDeviations: 4,
  /** Slack of the CUSUM: a lasting departure of less than this many standard deviations of a tick is let be. */
  cusumReferenceValue: 0.75,
  /**
   * Limits are solved for a run length this much longer than asked for: forty hours of learning leave level and spread
   * unsure, which makes false findings more frequent than the run length of a known level says. Source: measured on the
   * demo's engine model.
   */
  runLengthMargin: 2,
  /** A finding clears when the mean of so many newest ticks is within this many standard deviations of one tick. */
  clearStandardDeviations: 0.4,
  clearTicks: 30,
  /** After a repair fewer ticks are asked for, since somebody has looked. */
  verifyTicks: 8,
  /** How often an open finding is looked at again for a change, in ticks. */
  reviewTicks: 6,
  /** A departure to a side that no engine fault is watched for is reported when its sensor is this probable. */
  sensorAloneProbability: 0.6,
  /** The leading cause has changed when another is this much more probable than the one reported before. */
  leadingCauseRatio: 1.3,
  /** An open finding is reported again after this many running hours, or sooner when its grade or leading cause changes. */
  repeatTicks: 48,
} as const;

/** Start values for alarm delays and dead bands. Source: from memory, common practice; check against IEC 62682. */
export const HARD_LIMIT = {
  onDelayPressureMs: 15_000,
  onDelayTemperatureMs: 60_000,
  offDelayMs: 60_000,
  deadBandPressureRatio: 0.02,
  deadBandTemperatureRatio: 0.01,
  /** Oil pressure is only judged when the engine has turned this long. */
  afterStartMs: 30_000,
  /** A limit that was not passed for this long has ceased to be a finding; until then excursions count as one. */
  quietMs: 7 * 24 * 3_600_000,
  /** Excursions of an open finding are told again at most this often. */
  repeatMs: 24 * 3_600_000,
} as const;

/** Plausibility of a sensor. Source: common practice, no source. */
export const PLAUSIBILITY = {
  /** A signal that never changes in this much running time while load or speed moved by the given amount is stuck. */
  stuckPressureMs: 30 * 60_000,
  stuckTemperatureMs: 90 * 60_000,
  stuckLoadRangeRatio: 0.3,
  stuckSpeedRangeRatio: 0.2,
  /** A fitted sensor without a value for this much running time is reported as missing. */
  missingRunningMs: 4 * 3_600_000,
  /** Boost at standstill within this of the barometer reads absolute where gauge is stated, or the reverse. */
  referenceToleranceKpa: 12,
  referenceSamples: 20,
} as const;

/** How a departure is graded before any limit is looked at. Source: common practice, no source. */
export const SEVERITY = {
  boostMediumRatio: 0.08,
  boostHighRatio: 0.2,
  effectivenessMedium: 0.08,
  effectivenessHigh: 0.15,
  temperatureMediumK: 10,
  temperatureHighK: 20,
  exhaustMediumK: 30,
  exhaustHighK: 60,
  oilMediumRatio: 0.12,
  oilHighRatio: 0.25,
  dropMediumRatio: 0.5,
  dropHighRatio: 1,
  /** Running hours to the maker's limit. */
  hoursToLimitMedium: 300,
  hoursToLimitHigh: 60,
} as const;
