import type { ReferenceAdapter } from './case.ts';
import { autocorrelationAdapter } from './statistics-autocorrelation.ts';
import { changePointAdapter } from './statistics-change.ts';
import { cusumAdapter, ewmaAdapter, runRulesAdapter, shewhartAdapter } from './statistics-charts.ts';
import { InputMissing } from './statistics-inputs.ts';
import { limitAdapter } from './statistics-limit.ts';
import { qualityAdapter } from './statistics-quality.ts';
import { leastSquaresAdapter, robustAdapter } from './statistics-regression.ts';
import { runLengthAdapter } from './statistics-run-length.ts';
import { scaleAdapter } from './statistics-scale.ts';
import { trendAdapter } from './statistics-trend.ts';

/** The groups of the statistical check values. */
const BY_GROUP: Readonly<Record<string, ReferenceAdapter>> = {
  shewhart_limits: shewhartAdapter,
  cusum: cusumAdapter,
  ewma: ewmaAdapter,
  run_rules: runRulesAdapter,
  run_length: runLengthAdapter,
  autocorrelation: autocorrelationAdapter,
  trend: trendAdapter,
  robust_regression: robustAdapter,
  ols_certified: leastSquaresAdapter,
  change_point: changePointAdapter,
  quantiles_and_scale: scaleAdapter,
  time_to_limit: limitAdapter,
  detection_quality: qualityAdapter,
};

/** Maps the statistical check values to our functions, by the group of a case and the shape of its inputs. */
export const statisticsAdapter: ReferenceAdapter = (referenceCase) => {
  const adapter = Object.hasOwn(BY_GROUP, referenceCase.group) ? BY_GROUP[referenceCase.group] : undefined;
  try {
    return adapter?.(referenceCase);
  } catch (error) {
    if (error instanceof InputMissing) return { notCovered: error.message };
    throw error;
  }
};
