import {
  cusumRunLength,
  cusumRunLengthOneSided,
  cusumSteadyDelay,
  siegmundRunLength,
} from '../../analysis/detection/run-length-cusum.ts';
import { ewmaRunLength } from '../../analysis/detection/run-length-ewma.ts';
import {
  cusumFalseAlarmProbability,
  probabilityWithin,
  shewhartFalseAlarmProbability,
} from '../../analysis/detection/run-length-false-alarm.ts';
import { runRulesRunLength } from '../../analysis/detection/run-length-rules.ts';
import { type RunRule, ZONE_RULES } from '../../analysis/detection/run-rules.ts';
import {
  averageRunLengthFromFalseAlarmRate,
  solveCusumLimit,
  solveEwmaLimit,
} from '../../analysis/detection/solve-limit.ts';
import type { ReferenceAdapter, ReferenceCase } from './case.ts';
import {
  answer,
  type Figures,
  InputMissing,
  inParallel,
  isNumbers,
  numberOf,
  optionalNumber,
  over,
  says,
} from './statistics-inputs.ts';

type Setting = Readonly<Record<string, number>>;

/** The named inputs of a case that are given. */
function pick(inputs: ReferenceCase['inputs'], keys: readonly string[]): Record<string, unknown> {
  return Object.fromEntries(keys.filter((key) => inputs[key] !== undefined).map((key) => [key, inputs[key]]));
}

/** A number of a setting; what is not given is 0. */
function part(setting: Setting, key: string): number {
  return setting[key] ?? 0;
}

/** Average run lengths over designs (taken in parallel) and, inside each, over shifts. */
function overDesigns(
  inputs: ReferenceCase['inputs'],
  designKeys: readonly string[],
  length: (setting: Setting, mu: number) => number,
): () => unknown {
  const mu = inputs['mu'] ?? inputs['shift'] ?? 0;
  return () => inParallel(pick(inputs, designKeys), (setting) => over(mu, (shift) => length(setting, shift)));
}

/** Run lengths of control charts on independent values, and limits solved from them. */
export const runLengthAdapter: ReferenceAdapter = (referenceCase) => {
  const { inputs } = referenceCase;
  if (inputs['rules'] !== undefined) return answer(referenceCase, ruleFigures(inputs));
  if (inputs['baselineSize'] !== undefined || (inputs['samples'] !== undefined && inputs['k'] !== undefined)) {
    return answer(referenceCase, baselineFigures(inputs));
  }
  if (inputs['k'] !== undefined) return answer(referenceCase, cusumFigures(referenceCase));
  if (inputs['lambda'] !== undefined) {
    return answer(referenceCase, {
      arl: overDesigns(inputs, ['lambda', 'L'], (s, shift) =>
        ewmaRunLength({ weight: part(s, 'lambda'), limitSigmas: part(s, 'L'), shift }),
      ),
      L: () =>
        over(inputs['arl0'], (averageRunLength) =>
          over(inputs['lambda'], (weight) => solveEwmaLimit({ weight, averageRunLength })),
        ),
    });
  }
  const sigmas = optionalNumber(inputs, 'L', 'c') ?? 3;
  return answer(referenceCase, {
    probability: () =>
      over(inputs['N'] ?? inputs['samples'], (samples) =>
        probabilityWithin(samples, shewhartFalseAlarmProbability(sigmas)),
      ),
    perSample: () => shewhartFalseAlarmProbability(sigmas),
    arl: () => over(inputs['mu'] ?? 0, (mu) => runRulesRunLength([{ kind: 'beyond', points: 1, of: 1, sigmas }], mu)),
    averageRunLength: () =>
      averageRunLengthFromFalseAlarmRate({
        findingsPer100UnitsAndWeek: numberOf(inputs, 'findingsPer100UnitsAndWeek'),
        pointsPerWeek: numberOf(inputs, 'pointsPerWeek'),
        chartsPerUnit: numberOf(inputs, 'chartsPerUnit'),
      }),
  });
};

function ruleFigures(inputs: ReferenceCase['inputs']): Figures {
  const { rules } = inputs;
  const named = (numbers: unknown): RunRule[] => {
    if (!isNumbers(numbers)) throw new InputMissing('rules is no list of rule numbers');
    return numbers.map((number) => {
      const rule = ZONE_RULES[number];
      if (rule === undefined) throw new InputMissing(`rule ${number} has no run length here`);
      return rule;
    });
  };
  const forSet = (set: unknown) => over(inputs['mu'] ?? 0, (mu) => runRulesRunLength(named(set), mu));
  return { arl: () => (Array.isArray(rules) && rules.every(Array.isArray) ? rules.map(forSet) : forSet(rules)) };
}

function baselineFigures(inputs: ReferenceCase['inputs']): Figures {
  const forSize = (size: unknown): unknown =>
    Array.isArray(size)
      ? size.map(forSize)
      : cusumFalseAlarmProbability({
          referenceValue: numberOf(inputs, 'k'),
          decisionInterval: numberOf(inputs, 'h'),
          samples: numberOf(inputs, 'samples'),
          baselineSize: typeof size === 'number' ? size : undefined,
        });
  return { probability: () => forSize(inputs['baselineSize']) };
}

function cusumFigures(referenceCase: ReferenceCase): Figures {
  const { inputs } = referenceCase;
  const isTwoSided = inputs['twoSided'] === true || says(referenceCase, /two.?sided|both sides/i);
  const isOneSided =
    !isTwoSided &&
    (inputs['twoSided'] === false || says(referenceCase, /one.?sided|one side|(upper|lower) (sum|side)/i));
  const isClosedForm = says(referenceCase, /siegmund|closed form/i);
  const design = (s: Setting, shift: number) => ({
    referenceValue: part(s, 'k'),
    decisionInterval: part(s, 'h'),
    shift,
    headStart: part(s, 'headStart'),
  });
  const plain = ['k', 'h'];
  const started = ['k', 'h', 'headStart'];
  const oneSided = isClosedForm ? siegmundRunLength : cusumRunLengthOneSided;
  const closedTwoSided = (d: ReturnType<typeof design>) =>
    1 / (1 / siegmundRunLength(d) + 1 / siegmundRunLength({ ...d, shift: -d.shift }));
  const twoSided = isClosedForm ? closedTwoSided : cusumRunLength;
  const solve = (averageRunLength: number) => (referenceValue: number) =>
    solveCusumLimit({ referenceValue, averageRunLength, twoSided: !isOneSided });
  const figure = (keys: readonly string[], length: (d: ReturnType<typeof design>) => number) =>
    overDesigns(inputs, keys, (s, shift) => length(design(s, shift)));
  return {
    arl: figure(started, isOneSided ? oneSided : twoSided),
    oneSided: figure(plain, oneSided),
    oneSidedHeadStart: figure(started, oneSided),
    twoSided: figure(plain, twoSided),
    twoSidedHeadStart: figure(started, twoSided),
    delay: figure(plain, cusumSteadyDelay),
    meanDelay: figure(started, isOneSided ? oneSided : twoSided),
    h: () => over(inputs['arl0'], (arl0) => over(inputs['k'], solve(arl0))),
  };
}

/** What a run length says about delay, for the group that scores detection. */
export function delayFigures(referenceCase: ReferenceCase): Figures {
  return cusumFigures(referenceCase);
}
