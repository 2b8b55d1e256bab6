import { type CusumSetting, cusumSeries, cusumSignal } from '../../analysis/detection/cusum.ts';
import { type EwmaSetting, ewmaLimits, ewmaSeries, ewmaSignal } from '../../analysis/detection/ewma.ts';
import { NELSON_TESTS, type RunRule, runRuleHits, ZONE_RULES } from '../../analysis/detection/run-rules.ts';
import {
  chartFactors,
  individualsLimits,
  individualsLimitsBySd,
  movingRanges,
  subgroupConstants,
  subgroupLimits,
} from '../../analysis/detection/shewhart.ts';
import type { ReferenceAdapter, ReferenceCase } from './case.ts';
import {
  answer,
  type Figures,
  fromOne,
  isNumbers,
  numberOf,
  numbersOf,
  optionalNumber,
  over,
  positionsWhere,
  rowsOf,
  says,
} from './statistics-inputs.ts';

/** Limits under the names of the check values. */
function named(limits: { sigma: number; lower: number; upper: number } | undefined) {
  return limits && { sigma: limits.sigma, lcl: limits.lower, ucl: limits.upper };
}

/** Shewhart limits of single values or of subgroups, and the constants of the charts. */
export const shewhartAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs } = referenceCase;
  const table = Object.keys(inputs).find((key) => Array.isArray(inputs[key]) && !isNumbers(inputs[key]));
  if (table !== undefined) return answer(referenceCase, subgroupFigures(inputs, table));
  if (inputs['x'] === undefined && inputs['n'] !== undefined) {
    const constant = (f: (n: number) => number) => () => over(inputs['n'], f);
    return answer(referenceCase, {
      ...Object.fromEntries(
        (['d2', 'd3', 'c4'] as const).map((key) => [key, constant((n) => subgroupConstants(n)[key])]),
      ),
      ...Object.fromEntries(
        (['A2', 'A3', 'D3', 'D4', 'B3', 'B4'] as const).map((key) => [key, constant((n) => chartFactors(n)[key])]),
      ),
    });
  }
  const values = () => numbersOf(inputs, 'x', 'values');
  const sigmasPerRange = optionalNumber(inputs, 'd2');
  const sigmas = optionalNumber(inputs, 'L') ?? 3;
  const limits = () => individualsLimits(values(), { sigmas, ...(sigmasPerRange !== undefined && { sigmasPerRange }) });
  return answer(referenceCase, {
    mean: () => limits()?.centre,
    movingRanges: () => movingRanges(values()),
    meanMovingRange: () => limits()?.meanMovingRange,
    sigma: () => limits()?.sigma,
    ucl: () => limits()?.upper,
    lcl: () => limits()?.lower,
    uclMovingRange: () => limits()?.upperMovingRange,
    movingRange: () => named(limits()),
    standardDeviation: () => named(individualsLimitsBySd(values(), sigmas)),
    signals: () =>
      positionsWhere(values(), (x) => x > (limits()?.upper ?? Number.NaN) || x < (limits()?.lower ?? Number.NaN)),
  });
};

function subgroupFigures(inputs: ReferenceCase['inputs'], table: string): Figures {
  const sigmasPerRange = optionalNumber(inputs, 'd2');
  const sigmas = optionalNumber(inputs, 'L') ?? 3;
  const limits = () =>
    subgroupLimits(rowsOf(inputs, table), { sigmas, ...(sigmasPerRange !== undefined && { sigmasPerRange }) });
  return {
    mean: () => limits()?.centre,
    meanRange: () => limits()?.meanRange,
    meanSd: () => limits()?.meanSd,
    sigmaFromRange: () => limits()?.sigmaFromRange,
    sigmaFromSd: () => limits()?.sigmaFromSd,
    xbar: () => named(limits()?.ofMeansByRange),
    xbarFromRange: () => named(limits()?.ofMeansByRange),
    xbarFromSd: () => named(limits()?.ofMeansBySd),
    range: () => named(limits()?.ofRanges),
    sd: () => named(limits()?.ofSds),
  };
}

/** Tabular CUSUM of a series. */
export const cusumAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs, expected } = referenceCase;
  const setting = (headStart: number): CusumSetting => ({
    referenceValue: numberOf(inputs, 'k', 'referenceValue'),
    decisionInterval: numberOf(inputs, 'h', 'decisionInterval'),
    headStart,
  });
  const headStart = optionalNumber(inputs, 'headStart') ?? 0;
  // A case that asks for "plain" beside "headStart" wants the flat figures without it.
  const flat = cusumFigures(inputs, setting('plain' in expected || 'headStart' in expected ? 0 : headStart));
  const nested = (s: CusumSetting) => () =>
    Object.fromEntries(Object.entries(cusumFigures(inputs, s)).map(([key, f]) => [key, f()]));
  return answer(referenceCase, { ...flat, plain: nested(setting(0)), headStart: nested(setting(headStart)) });
};

function cusumFigures(inputs: ReferenceCase['inputs'], setting: CusumSetting): Figures {
  const target = optionalNumber(inputs, 'target', 'centre') ?? 0;
  const deviations = numbersOf(inputs, 'x', 'z', 'values').map((x) => x - target);
  const states = () => cusumSeries(deviations, setting);
  const first = () =>
    states()
      .map((state) => cusumSignal(state, setting))
      .find((signal) => signal !== undefined);
  const above = (sums: readonly number[]) => positionsWhere(sums, (sum) => sum > setting.decisionInterval);
  const signals = () => positionsWhere(states(), (state) => cusumSignal(state, setting) !== undefined);
  const shift = () => first()?.shift;
  return {
    hi: () => states().map(({ upper }) => upper.sum),
    lo: () => states().map(({ lower }) => lower.sum),
    signals,
    upSignals: () => above(states().map(({ upper }) => upper.sum)),
    downSignals: () => above(states().map(({ lower }) => lower.sum)),
    firstSignal: () => signals()[0],
    cumulativeSum: () => {
      let sum = 0;
      return deviations.map((d) => {
        sum += d;
        return sum;
      });
    },
    onsetSample: () => first()?.onset,
    runLengthAtFirstSignal: () => first()?.runLength,
    side: () => first()?.side,
    shiftAtFirstSignal: shift,
    newMeanAtFirstSignal: () => {
      const by = shift();
      return by === undefined ? undefined : target + by;
    },
    restarted: () => {
      const restarted = cusumSeries(deviations, setting, 'restart');
      return {
        hi: restarted.map(({ upper }) => upper.sum),
        lo: restarted.map(({ lower }) => lower.sum),
        upSignals: above(restarted.map(({ upper }) => upper.sum)),
        downSignals: above(restarted.map(({ lower }) => lower.sum)),
      };
    },
  };
}

/** EWMA of a series with its limits. */
export const ewmaAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs, expected } = referenceCase;
  const setting = (limits: 'exact' | 'asymptotic'): EwmaSetting => ({
    weight: numberOf(inputs, 'lambda', 'weight'),
    limitSigmas: optionalNumber(inputs, 'L') ?? 3,
    centre: numberOf(inputs, 'centre', 'target'),
    sigma: optionalNumber(inputs, 'sigma') ?? 1,
    limits,
  });
  const states = (limits: 'exact' | 'asymptotic') => ewmaSeries(numbersOf(inputs, 'x', 'values'), setting(limits));
  const list = (limits: 'exact' | 'asymptotic', side: 'lower' | 'upper') => () =>
    states(limits).map((state) => ewmaLimits(setting(limits), state.count)[side]);
  const settled = (side: 'lower' | 'upper') => () => ewmaLimits(setting('asymptotic'), 1)[side];
  const signals = (limits: 'exact' | 'asymptotic') => () =>
    positionsWhere(states(limits), (state) => ewmaSignal(state, setting(limits)) !== undefined);
  const isExact = Array.isArray(expected['ucl']) || Array.isArray(expected['lcl']) || inputs['limits'] === 'exact';
  return answer(referenceCase, {
    z: () => states('asymptotic').map(({ average }) => average),
    exactLcl: list('exact', 'lower'),
    exactUcl: list('exact', 'upper'),
    asymptoticLcl: settled('lower'),
    asymptoticUcl: settled('upper'),
    lcl: isExact ? list('exact', 'lower') : settled('lower'),
    ucl: isExact ? list('exact', 'upper') : settled('upper'),
    signals: signals(isExact ? 'exact' : 'asymptotic'),
    signalsExact: signals('exact'),
    signalsAsymptotic: signals('asymptotic'),
    firstSignal: () => signals(isExact ? 'exact' : 'asymptotic')()[0],
  });
};

/** Run rules on a standardised series, on one with centre and sigma, or on subgroup means with ranges. */
export const runRulesAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs } = referenceCase;
  const z = () => standardised(inputs);
  const all = (rules: Readonly<Record<string, RunRule>>) => () =>
    Object.fromEntries(Object.entries(rules).map(([key, rule]) => [key, fromOne(runRuleHits(z(), rule))]));
  return answer(referenceCase, {
    flagged: all(says(referenceCase, /western/i) && !says(referenceCase, /nelson/i) ? ZONE_RULES : NELSON_TESTS),
    nelson: all(NELSON_TESTS),
    westernElectric: all(ZONE_RULES),
  });
};

function standardised(inputs: ReferenceCase['inputs']): number[] {
  if (inputs['z'] !== undefined) return numbersOf(inputs, 'z');
  if (inputs['means'] !== undefined) {
    const means = numbersOf(inputs, 'means');
    const ranges = numbersOf(inputs, 'ranges');
    const n = numberOf(inputs, 'n');
    const average = (values: readonly number[]) => values.reduce((sum, x) => sum + x, 0) / values.length;
    const sigma = average(ranges) / subgroupConstants(n).d2 / Math.sqrt(n);
    const centre = average(means);
    return means.map((mean) => (mean - centre) / sigma);
  }
  const centre = numberOf(inputs, 'centre', 'mean', 'target');
  const sigma = numberOf(inputs, 'sigma', 'sd');
  return numbersOf(inputs, 'x', 'values').map((x) => (x - centre) / sigma);
}
