import type { Cause } from '../../schemas/finding.ts';
import { CHECK_STAGES, type Check } from '../../schemas/task.ts';
import type { Unit } from '../../schemas/unit.ts';
import { LEADING_CAUSES_MASS, LEADING_CAUSES_MAX } from '../limits.ts';
import { causeFacts, sensorProof } from './causes.ts';
import { STEP_CAUTIONS } from './cautions.ts';
import { type Acceptance, STEP_LIMITS, type Step } from './step.ts';
import { STEPS, type StepId } from './steps.ts';

/**
 * The causes worth checking for: the most probable ones that together hold most of the probability.
 *
 * @param causes - With probabilities, any order.
 * @returns Most probable first, at most {@link LEADING_CAUSES_MAX}; empty only when `causes` is.
 */
export function leadingCauses(causes: readonly Cause[]): readonly Cause[] {
  const ranked = [...causes].sort((a, b) => b.probability - a.probability || (a.cause < b.cause ? -1 : 1));
  const total = ranked.reduce((sum, { probability }) => sum + probability, 0);
  const leading: Cause[] = [];
  let held = 0;
  for (const candidate of ranked) {
    if (leading.length > 0 && (held >= LEADING_CAUSES_MASS * total || leading.length === LEADING_CAUSES_MAX)) break;
    leading.push(candidate);
    held += candidate.probability;
  }
  return leading;
}

/**
 * The inspection steps of a task: those of the leading causes, each once, least dismantling first; within a stage the
 * steps that tell the causes apart come first, then those that bear on the most probability.
 *
 * @param p.causes - Ranked causes of the finding; the leading ones are picked by {@link leadingCauses}.
 * @param p.unit - Decides which steps make sense and whose limits are shown.
 * @param p.subject - What departs: adds the proof of its own sensor, whatever the causes.
 * @returns At least one step. A step of a later stage is only reached when the earlier ones did not settle it.
 */
export function composeChecks(p: { causes: readonly Cause[]; unit: Unit; subject: string }): Check[] {
  const leading = leadingCauses(p.causes);
  const wanted = new Map<StepId, { bearsOn: string[]; weight: number }>();
  const want = (id: StepId, cause: Cause) => {
    const entry = wanted.get(id) ?? { bearsOn: [], weight: 0 };
    if (!entry.bearsOn.includes(cause.cause)) {
      entry.bearsOn.push(cause.cause);
      entry.weight += cause.probability;
    }
    wanted.set(id, entry);
  };
  for (const cause of leading.length > 0 ? leading : [{ cause: 'unknown', probability: 1 }]) {
    for (const id of causeFacts(cause.cause).steps) want(id, cause);
  }
  const proof = sensorProof(p.subject);
  if (proof !== undefined) want(proof, { cause: `sensor_${p.subject}`, probability: 0 });

  return [...wanted]
    .map(([id, { bearsOn, weight }]) => ({ id, step: STEPS[id] as Step, bearsOn, weight }))
    .filter(({ step }) => step.fits === undefined || step.fits(p.unit))
    .map((entry) => ({
      ...entry,
      stage: CHECK_STAGES.indexOf(entry.step.stage),
      separating: separates(entry, leading.length),
    }))
    .sort(
      (a, b) =>
        a.stage - b.stage ||
        Number(b.separating) - Number(a.separating) ||
        b.weight - a.weight ||
        (a.id < b.id ? -1 : 1),
    )
    .map(({ id, step, bearsOn, separating }) => fitStep({ id, step, bearsOn, separating, unit: p.unit }));
}

/** A step separates when it can, and when it speaks on some of the leading causes but not on all alike. */
function separates(entry: { step: Step; bearsOn: readonly string[] }, leadingCount: number): boolean {
  return (
    entry.step.separating === true && (leadingCount === 1 || entry.bearsOn.length < leadingCount || leadingCount === 0)
  );
}

function fitStep(p: { id: StepId; step: Step; bearsOn: readonly string[]; separating: boolean; unit: Unit }): Check {
  const { step } = p;
  const accept = step.accept === undefined ? undefined : acceptBasis(step.accept, p.unit);
  return {
    id: p.id,
    stage: step.stage,
    instruction: step.instruction,
    ...(step.tool === undefined ? {} : { tool: step.tool }),
    ...(step.measure === undefined ? {} : { measure: { ...step.measure } }),
    ...(accept === undefined ? {} : { accept }),
    cautions: (step.cautions ?? [])
      .filter((caution) => caution !== 'seawater_valves' || p.unit.engine.cooler === 'seawater')
      .filter((caution) => caution !== 'blower' || p.unit.engine.strokes === 2)
      .map((caution) => STEP_CAUTIONS[caution]),
    bearsOn: [...p.bearsOn],
    separating: p.separating,
  };
}

/**
 * When a step is good, and whose figure says so.
 *
 * @param acceptance - Limit, practice and plain words of the step.
 * @param unit - Whose limits the fleet file may hold.
 * @returns A sentence: the limit of this unit with its source; or that none is entered, with common practice beside it.
 */
export function acceptBasis(acceptance: Acceptance, unit: Unit): string {
  const sentences = acceptance.good === undefined ? [] : [`Good: ${acceptance.good}.`];
  const figure = acceptance.limit === undefined ? undefined : limitFigure(acceptance.limit, unit);
  if (figure !== undefined) return [...sentences, figure].join(' ');
  if (acceptance.limit !== undefined || acceptance.practice !== undefined) {
    sentences.push(
      acceptance.practice === undefined
        ? 'Engine maker’s limit: not entered in the fleet file; take it from the manual.'
        : `Engine maker’s limit: not entered in the fleet file; common practice, not a limit: ${acceptance.practice}.`,
    );
  }
  return sentences.join(' ');
}

function limitFigure(key: keyof typeof STEP_LIMITS, unit: Unit): string | undefined {
  const { words, unit: symbol } = STEP_LIMITS[key];
  const limit = unit.limits[key];
  if (limit === undefined) return undefined;
  const figures =
    typeof limit === 'number'
      ? `${limit} ${symbol}`
      : limit.map(({ speedRpm, pressureKpa }) => `${pressureKpa} ${symbol} at ${speedRpm} rpm`).join(', ');
  return `Limit of this unit: ${words} ${figures} (${unit.limits.source}).`;
}
