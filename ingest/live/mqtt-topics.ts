import type { MqttTopicRule } from '../../schemas/live-sources.ts';

/** What a topic says: whose readings it carries, and of which signal where it carries only one. */
export type TopicMatch = { readonly rule: MqttTopicRule; readonly unit: string; readonly signal: string | undefined };

/**
 * The topic filters to subscribe to: every placeholder is one level of any name (MQTT 3.1.1, 4.7.1.3). A filter that
 * another one covers is left out, since brokers may send a message once for each that fits (3.3.5).
 */
export function topicFilters(rules: readonly MqttTopicRule[]): string[] {
  const filters = [...new Set(rules.map(({ pattern }) => pattern.replaceAll(/\{(unit|signal)\}/g, '+')))];
  return filters.filter((filter) => !filters.some((other) => other !== filter && covers(other, filter)));
}

function covers(wide: string, narrow: string): boolean {
  const levels = levelsOf(narrow);
  const open = levelsOf(wide);
  return open.length === levels.length && open.every((level, i) => level === '+' || level === levels[i]);
}

/**
 * The pattern that a topic fits, and what stands at its places.
 *
 * @returns Of several the one with the fewest open places: `fleet/{unit}/samples` before `fleet/{unit}/{signal}`;
 *   `undefined` when none fits.
 */
export function matchTopic(rules: readonly MqttTopicRule[], topic: string): TopicMatch | undefined {
  const levels = levelsOf(topic);
  let best: TopicMatch | undefined;
  let bestOpen = Infinity;
  for (const rule of rules) {
    const pattern = levelsOf(rule.pattern);
    if (pattern.length !== levels.length) continue;
    const open = pattern.filter((level) => level === '+' || level.startsWith('{')).length;
    const fits = pattern.every(
      (level, i) => level === levels[i] || level === '+' || level === '{unit}' || level === '{signal}',
    );
    if (!fits || open >= bestOpen) continue;
    const at = (name: string) => levels[pattern.indexOf(name)];
    best = { rule, unit: at('{unit}') ?? '', signal: pattern.includes('{signal}') ? at('{signal}') : undefined };
    bestOpen = open;
  }
  return best;
}

function levelsOf(topic: string): string[] {
  return topic.split('/');
}
