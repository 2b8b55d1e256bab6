import { median } from '../analysis/detection/quantiles.ts';
import type { HistoryPoint } from '../schemas/history-point.ts';
import { INDICATORS, type IndicatorKey } from '../schemas/indicator.ts';
import { unitSymbol } from '../web/format.ts';
import type { IndicatorLine, IndicatorSpell } from '../web/unit-report-page.ts';

/** Length of the spells that are set beside each other, and the load from which a point counts, share of rated. */
export const SPELL = { days: 30, leastLoad: 0.4 } as const;

const SPELL_MS = SPELL.days * 24 * 3_600_000;

type Values = { readonly values: number[]; readonly uncertainties: number[] };

/**
 * Gathers the indicators of a unit's first and last weeks. Only points at load count: at idle most of them say nothing.
 *
 * @param p.fromMs - Begin of the report.
 * @param p.toMs - Its end.
 */
export function createIndicatorTable(p: { fromMs: number; toMs: number }): {
  take(point: HistoryPoint, load: number | undefined): void;
  lines(): readonly IndicatorLine[];
} {
  const early = new Map<IndicatorKey, Values>();
  const late = new Map<IndicatorKey, Values>();
  const absent = new Map<IndicatorKey, string>();
  return {
    take({ indicators, point }, load) {
      if (load !== undefined && load < SPELL.leastLoad) return;
      for (const key of Object.keys(INDICATORS) as IndicatorKey[]) {
        const indicator = indicators[key];
        if (indicator === undefined) continue;
        if ('absent' in indicator) absent.set(key, indicator.absent);
        else {
          if (point.toMs < p.fromMs + SPELL_MS) add(early, key, indicator);
          if (point.toMs >= p.toMs - SPELL_MS) add(late, key, indicator);
        }
      }
    },
    lines: () =>
      (Object.keys(INDICATORS) as IndicatorKey[]).flatMap((key): IndicatorLine[] => {
        const { term, unit } = INDICATORS[key];
        const [first, last] = [spellOf(early.get(key)), spellOf(late.get(key))];
        const why = absent.get(key);
        if (first === undefined && last === undefined)
          return why === undefined ? [] : [{ term, unit: unitSymbol(unit), absent: why }];
        return [
          {
            term,
            unit: unitSymbol(unit),
            ...(first === undefined ? {} : { early: first }),
            ...(last === undefined ? {} : { late: last }),
          },
        ];
      }),
  };
}

function add(
  spell: Map<IndicatorKey, Values>,
  key: IndicatorKey,
  one: { value: number; standardUncertainty: number },
): void {
  const known = spell.get(key) ?? { values: [], uncertainties: [] };
  known.values.push(one.value);
  known.uncertainties.push(one.standardUncertainty);
  spell.set(key, known);
}

function spellOf(values: Values | undefined): IndicatorSpell | undefined {
  const middle = median(values?.values ?? []);
  const uncertainty = median(values?.uncertainties ?? []);
  return middle === undefined || uncertainty === undefined
    ? undefined
    : { median: middle, standardUncertainty: uncertainty, points: values?.values.length ?? 0 };
}
