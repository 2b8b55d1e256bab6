import { CompressionTypes, type Message, type Transaction } from 'kafkajs';

/** Messages for one topic; each names its partition. */
export type TopicMessages = { readonly topic: string; readonly messages: readonly Message[] };

/** First offset that was written in each `topic/partition`. */
export type SentPlaces = Map<string, { readonly topic: string; readonly partition: number; readonly offset: number }>;

/** Most bytes in one request; well under what brokers take (`socket.request.max.bytes`, 100 MB) and topics hold. */
const REQUEST_BYTES = 8 * 2 ** 20;
/** Packed blocks do not get smaller; where they are most of a request, squeezing it again costs time for nothing. */
const SQUEEZE_BYTES = 512;

/**
 * Sends everything within the transaction, in order, and notes in `sent` where each partition's first record went.
 *
 * @returns In how many requests; the records of one request lie side by side in each partition.
 */
export async function sendAll(
  transaction: Transaction,
  all: readonly TopicMessages[],
  sent: SentPlaces,
): Promise<number> {
  let count = 0;
  for (const request of requests(all)) {
    count += 1;
    const answers = await transaction.sendBatch({
      acks: -1,
      compression: isText(request) ? CompressionTypes.GZIP : CompressionTypes.None,
      topicMessages: request.map(({ topic, messages }) => ({ topic, messages: [...messages] })),
    });
    for (const { topicName, partition, baseOffset } of answers) {
      const place = `${topicName}/${partition}`;
      if (!sent.has(place)) sent.set(place, { topic: topicName, partition, offset: Number(baseOffset) });
    }
  }
  return count;
}

/** Requests of bounded size, the messages of each topic together. */
function* requests(all: readonly TopicMessages[]): Generator<TopicMessages[]> {
  let byTopic = new Map<string, Message[]>();
  let bytes = 0;
  for (const { topic, messages } of all) {
    for (const message of messages) {
      const size = sizeOf(message);
      if (bytes > 0 && bytes + size > REQUEST_BYTES) {
        yield [...byTopic].map(([name, own]) => ({ topic: name, messages: own }));
        byTopic = new Map();
        bytes = 0;
      }
      const own = byTopic.get(topic);
      if (own === undefined) byTopic.set(topic, [message]);
      else own.push(message);
      bytes += size;
    }
  }
  if (byTopic.size > 0) yield [...byTopic].map(([name, own]) => ({ topic: name, messages: own }));
}

function isText(request: readonly TopicMessages[]): boolean {
  let text = 0;
  let packed = 0;
  for (const { messages } of request) {
    for (const message of messages) {
      if (typeof message.value === 'string' || message.value?.[0] === 0x7b) text += sizeOf(message);
      else packed += sizeOf(message);
    }
  }
  return text > packed && text > SQUEEZE_BYTES;
}

function sizeOf(message: Message): number {
  return Buffer.byteLength(message.value ?? '') + Buffer.byteLength(message.key ?? '');
}
