import type { ChannelKey } from '../../schemas/channel.ts';
import type { Cause, CauseGroup } from '../../schemas/finding.ts';
import type { Unit } from '../../schemas/unit.ts';
import { isBoostRegulated } from './boost-regime.ts';
import type { Departures } from './rank-causes.ts';
import type { Effects, Signature } from './signature.ts';
import { SIGNATURES } from './signatures.ts';

/** Two causes whose directions differ by less than this cannot be told apart. Common practice, no source. */
const SEPARABLE_DEGREES = 20;

/**
 * Puts causes together that the unit's fitted signals cannot tell apart: those whose signatures point the same way, in
 * standard uncertainties of the channels that were judged. A planner is then shown one group with one probability, and
 * the check that separates its members, rather than a false order.
 *
 * @param causes - Ranked causes.
 * @param p.departures - Which channels were judged, and how surely.
 * @param p.unit - Decides the regime of boost control.
 * @returns Groups by falling probability; a cause that stands alone is a group of one.
 */
export function groupCauses(
  causes: readonly Cause[],
  p: { readonly departures: Departures; readonly unit: Unit },
): readonly CauseGroup[] {
  const groups: { causes: string[]; probability: number; direction: readonly number[] | undefined }[] = [];
  for (const { cause, probability } of causes) {
    const direction = directionOf(cause, p);
    const group = groups.find(
      (one) =>
        direction !== undefined &&
        one.direction !== undefined &&
        degreesBetween(direction, one.direction) < SEPARABLE_DEGREES,
    );
    if (group === undefined) groups.push({ causes: [cause], probability, direction });
    else {
      group.causes.push(cause);
      group.probability += probability;
    }
  }
  return groups
    .map((group) => ({ causes: group.causes, probability: Number(Math.min(1, group.probability).toFixed(3)) }))
    .sort((a, b) => b.probability - a.probability);
}

/** Effects of a cause over the judged channels, in standard uncertainties; `undefined` for causes that may go either way. */
function directionOf(cause: string, p: { departures: Departures; unit: Unit }): readonly number[] | undefined {
  const signature = SIGNATURES.find((one) => one.cause === cause);
  if (signature === undefined) return undefined;
  const effects = effectsFor(signature, p.unit);
  const direction = (Object.keys(p.departures) as ChannelKey[]).map((key) => {
    const effect = effects[key];
    const uncertainty = p.departures[key]?.standardUncertainty ?? 1;
    return typeof effect === 'number' ? effect / uncertainty : 0;
  });
  return direction.some((value) => value !== 0) ? direction : undefined;
}

function effectsFor(signature: Signature, unit: Unit): Effects {
  const regulated = isBoostRegulated(unit);
  return regulated && signature.closed !== undefined ? signature.closed : signature.open;
}

function degreesBetween(a: readonly number[], b: readonly number[]): number {
  const product = (x: readonly number[], y: readonly number[]) =>
    x.reduce((sum, value, i) => sum + value * (y[i] ?? 0), 0);
  const cosine = product(a, b) / Math.sqrt(product(a, a) * product(b, b));
  return (Math.acos(Math.max(-1, Math.min(1, cosine))) * 180) / Math.PI;
}
