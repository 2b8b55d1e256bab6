import { JUDGING, LEARNING } from './limits.ts';

/**
 * Thresholds of learning and judging that an analyst may set otherwise for a back-test. The live analysis always runs
 * with {@link DEFAULT_SETTINGS}.
 */
export type AnalysisSettings = {
  /** Running hours that an expectation is learnt from. */
  readonly minRunningHours: number;
  /** Fewest operating points that the unit must have gathered, and fewest that one channel's own fit may rest on. */
  readonly minPoints: number;
  readonly minChannelPoints: number;
  /** Slack of the CUSUM, in standard deviations of an hour: half of the shift that it finds soonest. */
  readonly cusumReferenceValue: number;
  /** An hour enters the charts cut at this many standard deviations. */
  readonly clipStandardDeviations: number;
};

/** The settings of the live analysis. */
export const DEFAULT_SETTINGS: AnalysisSettings = {
  minRunningHours: LEARNING.minRunningHours,
  minPoints: LEARNING.minPoints,
  minChannelPoints: LEARNING.minChannelPoints,
  cusumReferenceValue: JUDGING.cusumReferenceValue,
  clipStandardDeviations: JUDGING.clipStandardDeviations,
};

/** The settings that hold in a context: those it names, and the defaults for the rest. */
export function settingsOf(context: { readonly settings?: Partial<AnalysisSettings> }): AnalysisSettings {
  return context.settings === undefined ? DEFAULT_SETTINGS : { ...DEFAULT_SETTINGS, ...context.settings };
}
