import type { MqttTopicRule } from '../../schemas/live-sources.ts';

/** What a topic says: whose readings it carries, and of which signal where it carries only one. */
export type TopicMatch = { readonly rule: MqttTopicRule; readonly unit: string; readonly signal: string | undefined };

/** The topic filter to subscribe to for a pattern: every placeholder is one level of any name (MQTT 3.1.1, 4.7.1.3). */
export function topicFilter(pattern: string): string {
  return levelsOf(pattern)
    .map((level) => (level === '{unit}' || level === '{signal}' ? '+' : level))
    .join('/');
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
