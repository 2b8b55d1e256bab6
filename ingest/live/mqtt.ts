import { createHash } from 'node:crypto';
import { readFile } from 'node:fs/promises';
import { resolve } from 'node:path';
import { connect, type IClientOptions, type IPublishPacket, type MqttClient } from 'mqtt';
import type { MqttSource } from '../../schemas/live-sources.ts';
import { refuse } from '../../schemas/reject.ts';
import { clockLimits } from '../checks.ts';
import { createBackOff } from './back-off.ts';
import { type LiveSetting, type LiveSource, LiveSourceError } from './live-source.ts';
import { type MessageBatch, refusedMessage } from './message-collector.ts';
import { matchTopic, topicFilters } from './mqtt-topics.ts';
import { parseLiveMessage } from './parse-message.ts';
import { parseReading } from './parse-reading.ts';
import { createLiveSession } from './session.ts';

/** Largest payload that is read; a message of the most samples and signals has room. */
const PAYLOAD_BYTES_MAX = 4 * 2 ** 20;
const KEEPALIVE_S = 30;
const CONNECT_TIMEOUT_MS = 15_000;
const END_TIMEOUT_MS = 5000;

/**
 * Takes messages in from an MQTT broker (OASIS MQTT 3.1.1) at quality of service 1.
 *
 * Each is acknowledged once what came of it is durable; the broker keeps and repeats the others, also while we are away,
 * since the session is kept under one client id. Payloads that cannot be read become dead letters and are acknowledged:
 * sending them again would not mend them.
 *
 * @param p.firstPauseMs - Shortest pause before a lost broker is tried again; left out, 1 s.
 * @throws LiveSourceError when a password or certificate file cannot be read.
 */
export async function startMqtt(
  p: LiveSetting & { readonly source: MqttSource; readonly firstPauseMs?: number },
): Promise<LiveSource> {
  const { source, clock, say } = p;
  const unitIds = new Set(p.fleet.units.map((unit) => unit.id));
  const session = createLiveSession({ ...p, source: source.id, units: [...unitIds] });
  const client = connect(source.url, await clientOptions(p));
  const backOff = createBackOff(p.firstPauseMs === undefined ? {} : { firstMs: p.firstPauseMs });
  let isStopping = false;
  let cancelRetry = () => {};

  const read = (packet: IPublishPacket, payload: Buffer): MessageBatch => {
    const nowMs = clock.now();
    const context = { unitIds, clock: clockLimits(nowMs) };
    if (payload.length > PAYLOAD_BYTES_MAX) {
      const detail = `The payload has ${payload.length} bytes and may have ${PAYLOAD_BYTES_MAX}; send the run in several messages.`;
      return refusedMessage(() => payload, refuse('record_unreadable', '', detail).reject);
    }
    const match = matchTopic(source.topics, packet.topic);
    if (match === undefined) {
      const detail = 'No topic pattern of the source fits the topic; correct the pattern, or the sender.';
      return refusedMessage(() => payload, refuse('record_unreadable', 'topic', detail).reject);
    }
    if (match.signal === undefined)
      return parseLiveMessage(payload, { ...context, unitIds: only(unitIds, match.unit) });
    const arrival = { nowMs, isRetained: packet.retain, isRepeated: packet.dup };
    return parseReading(payload, { match: { ...match, signal: match.signal }, arrival, context });
  };

  // The client handles packets one by one, and acknowledges when called back without an error. Waiting for the disk with
  // every single one would be slow, so it is called back with the mark below, goes on at once, and the acknowledgement
  // follows from here, on the same connection only: on another the number may stand for another message.
  client.handleMessage = (packet, callback) => {
    if (isStopping) {
      callback(ACKNOWLEDGED_LATER);
      return;
    }
    const { stream } = client;
    const payload = typeof packet.payload === 'string' ? Buffer.from(packet.payload) : packet.payload;
    const fingerprint = () => createHash('sha256').update(packet.topic).update('\0').update(payload).digest('hex');
    session.take({ batch: read(packet, payload), name: packet.topic, format: 'mqtt', fingerprint }).then(
      () => {
        if (packet.qos === 1 && client.stream === stream && client.connected)
          stream.write(puback(packet.messageId ?? 0));
      },
      // Not acknowledged, so the broker keeps it; why the session ended is told through onFailure.
      () => {},
    );
    void session.room().then(() => callback(ACKNOWLEDGED_LATER));
  };
  client.on('connect', () => {
    backOff.reset();
    void greet(client, source).then(
      () => say(`${source.id}: connected to ${source.url}.`),
      (error: Error) => say(`${source.id}: ${error.message}.`),
    );
  });
  client.on('error', (error) => say(`${source.id}: ${error.message || String(error)}.`));
  client.on('close', () => {
    if (isStopping) return;
    const pauseMs = backOff.next();
    say(`${source.id}: no connection to ${source.url}; trying again in ${pauseMs / 1000} s.`);
    cancelRetry();
    cancelRetry = clock.after(pauseMs, () => client.reconnect());
  });
  return {
    id: source.id,
    async stop() {
      isStopping = true;
      cancelRetry();
      await session.drain();
      await farewell(client, source);
    },
  };
}

const ACKNOWLEDGED_LATER = new Error('acknowledged once it is durable');

/** PUBACK packet (MQTT 3.1.1, 3.4). */
function puback(messageId: number): Buffer {
  return Buffer.from([0x40, 0x02, messageId >> 8, messageId & 0xff]);
}

async function greet(client: MqttClient, source: MqttSource): Promise<void> {
  const granted = await client.subscribeAsync(topicFilters(source.topics), { qos: 1 });
  const refused = granted.filter(({ qos }) => qos !== 1).map(({ topic }) => topic);
  if (refused.length > 0) throw new Error(`the broker does not allow ${refused.join(', ')} at quality of service 1`);
  if (source.statusTopic !== undefined)
    await client.publishAsync(source.statusTopic, 'online', { qos: 1, retain: true });
}

async function farewell(client: MqttClient, source: MqttSource): Promise<void> {
  const bounded = (work: Promise<unknown>) =>
    Promise.race([work, new Promise((done) => setTimeout(done, END_TIMEOUT_MS).unref())]);
  if (client.connected && source.statusTopic !== undefined) {
    await bounded(client.publishAsync(source.statusTopic, 'offline', { qos: 1, retain: true }));
  }
  await bounded(client.endAsync(!client.connected));
  if (client.connected) await client.endAsync(true);
}

async function clientOptions(p: LiveSetting & { readonly source: MqttSource }): Promise<IClientOptions> {
  const { source } = p;
  const fileText = async (name: string, what: string) => {
    try {
      return await readFile(resolve(p.baseFolder, name), 'utf8');
    } catch (error) {
      throw new LiveSourceError(`${source.id}: the ${what} ${name} cannot be read (${String(error)}).`, {
        cause: error,
      });
    }
  };
  const password = await passwordOf(source, fileText);
  return {
    protocolVersion: 4,
    clientId: source.clientId ?? `chargeair-${source.id}`,
    clean: false,
    keepalive: KEEPALIVE_S,
    connectTimeout: CONNECT_TIMEOUT_MS,
    // Attempts are timed here, with growing pauses.
    reconnectPeriod: 0,
    resubscribe: false,
    ...(source.user === undefined ? {} : { username: source.user }),
    ...(password === undefined ? {} : { password }),
    ...(source.caFile === undefined ? {} : { ca: await fileText(source.caFile, 'certificate file') }),
    ...(source.statusTopic === undefined
      ? {}
      : { will: { topic: source.statusTopic, payload: Buffer.from('offline'), qos: 1, retain: true } }),
  };
}

async function passwordOf(
  source: MqttSource,
  fileText: (name: string, what: string) => Promise<string>,
): Promise<string | undefined> {
  if (source.passwordFile !== undefined) return (await fileText(source.passwordFile, 'password file')).trim();
  if (source.passwordVariable === undefined) return undefined;
  const password = process.env[source.passwordVariable];
  if (password === undefined || password === '') {
    throw new LiveSourceError(
      `${source.id}: the variable ${source.passwordVariable} holds no password; set it, or use passwordFile.`,
    );
  }
  return password;
}

// A message may only be of the unit that its topic names: the broker's rules of who may write where then hold here too.
function only(unitIds: ReadonlySet<string>, unit: string): ReadonlySet<string> {
  return new Set(unitIds.has(unit) ? [unit] : []);
}
