import type { ChannelKey } from '../schemas/channel.ts';
import type { FindingKind } from '../schemas/finding.ts';
import { CHANNEL_RULES } from './detection/channel-table.ts';
import { runRuleHolds, ZONE_RULES } from './detection/run-rules.ts';
import type { ChannelState } from './state.ts';

/** An alarm of the run rules: which side of which channel, from which hour to which. */
export type RunRuleAlarm = {
  readonly kind: FindingKind;
  readonly subject: ChannelKey;
  readonly atMs: number;
  /** When no rule had held for as many hours as the longest one looks at; `null` while it stands. */
  readonly endMs: number | null;
};

type Open = { kind: FindingKind; subject: ChannelKey; side: 1 | -1; atMs: number; quietHours: number };

/** The longest rule looks at so many hours; an alarm ends when none has held on its side for as long. */
const MEMORY = 8;

/**
 * Watches the hourly deviations of every chart by the four zone rules. For the analyst alone: eight hours on one side
 * of the centre are soon there by chance, so these rules cry wolf far more often than a planner would bear; a back-test
 * shows how often, and what they would have found sooner.
 *
 * `take` must see the charts at least every {@link MAX_HOURS_BETWEEN} running hours: older hours are averaged in pairs.
 */
export function createRunRuleWatch(): {
  take(channels: { readonly [K in ChannelKey]?: ChannelState }): void;
  alarms(): readonly RunRuleAlarm[];
} {
  const seenMs = new Map<ChannelKey, number>();
  const deviations = new Map<ChannelKey, number[]>();
  const ended: RunRuleAlarm[] = [];
  const open: Open[] = [];

  function watch(rule: (typeof CHANNEL_RULES)[number], atMs: number, z: readonly number[]): void {
    const [last] = z.slice(-1);
    if (last === undefined) return;
    const side = last > 0 ? 1 : -1;
    const kind = side > 0 ? rule.up : rule.down;
    const holds = Object.values(ZONE_RULES).some((one) => runRuleHolds(z, one));
    for (const alarm of open.filter(({ subject }) => subject === rule.key)) {
      alarm.quietHours = holds && alarm.side === side ? 0 : alarm.quietHours + 1;
      if (alarm.quietHours < MEMORY) continue;
      open.splice(open.indexOf(alarm), 1);
      ended.push({ kind: alarm.kind, subject: alarm.subject, atMs: alarm.atMs, endMs: atMs });
    }
    const known = open.some((alarm) => alarm.subject === rule.key && alarm.side === side);
    if (holds && kind !== undefined && !known) open.push({ kind, subject: rule.key, side, atMs, quietHours: 0 });
  }

  return {
    take(channels) {
      for (const rule of CHANNEL_RULES) {
        const ticks = channels[rule.key]?.chart.ticks;
        if (ticks === undefined) continue;
        // Work on the engine empties a chart: what the hours before showed says nothing of the engine that runs now.
        if (ticks.length === 0) deviations.delete(rule.key);
        for (const [, atMs, residual, sd] of ticks) {
          if (atMs <= (seenMs.get(rule.key) ?? Number.NEGATIVE_INFINITY)) continue;
          seenMs.set(rule.key, atMs);
          const z = [...(deviations.get(rule.key) ?? []), residual / sd].slice(-MEMORY);
          deviations.set(rule.key, z);
          watch(rule, atMs, z);
        }
      }
    },
    alarms: () => [...ended, ...open.map(({ kind, subject, atMs }) => ({ kind, subject, atMs, endMs: null }))],
  };
}

/** A chart keeps its newest 24 hours one by one; see `chart.ts`. */
export const MAX_HOURS_BETWEEN = 12;
