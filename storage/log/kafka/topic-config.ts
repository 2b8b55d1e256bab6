import type { Topic } from '../port.ts';
import type { KafkaSettings } from './settings.ts';

const DAY_MS = 86_400_000;
/** Largest batch of records that a topic takes. The broker's own default of 1 MB is less than a step may hold. */
export const MAX_TOPIC_BATCH_BYTES = 32 * 2 ** 20;

type Entry = { readonly name: string; readonly value: string };

/** Settings of a new topic of records: https://kafka.apache.org/documentation/#topicconfigs */
export function topicConfig(topic: Topic, settings: KafkaSettings): Entry[] {
  const keepMs = topic === 'samples' && settings.retentionDays !== undefined ? settings.retentionDays * DAY_MS : -1;
  return [
    { name: 'cleanup.policy', value: 'delete' },
    { name: 'retention.ms', value: String(keepMs) },
    { name: 'retention.bytes', value: '-1' },
    { name: 'max.message.bytes', value: String(MAX_TOPIC_BATCH_BYTES) },
    ...inSync(settings),
  ];
}

/** Settings of a new topic of states: only the newest of every key is kept. */
export function stateTopicConfig(settings: KafkaSettings): Entry[] {
  return [
    { name: 'cleanup.policy', value: 'compact' },
    // States change with every step: clean early, or a restart reads many old ones.
    { name: 'min.cleanable.dirty.ratio', value: '0.2' },
    { name: 'segment.bytes', value: String(64 * 2 ** 20) },
    { name: 'segment.ms', value: String(DAY_MS) },
    { name: 'max.message.bytes', value: String(MAX_TOPIC_BATCH_BYTES) },
    ...inSync(settings),
  ];
}

/** A record counts as kept when a second broker has it, where there are three copies. */
function inSync(settings: KafkaSettings): Entry[] {
  return settings.replicas >= 3 ? [{ name: 'min.insync.replicas', value: '2' }] : [];
}
