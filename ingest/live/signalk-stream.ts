import WebSocket from 'ws';
import type { SignalkSource } from '../../schemas/live-sources.ts';
import type { SignalKRule } from '../../schemas/source-rule.ts';
import { createBackOff } from './back-off.ts';
import { createLineFeed } from './line-feed.ts';
import { type LiveSetting, type LiveSource, LiveSourceError } from './live-source.ts';

/** Longest message that is read; a delta has some hundred bytes. */
const MESSAGE_BYTES_MAX = 1024 * 1024;
const HANDSHAKE_TIMEOUT_MS = 15_000;
/** A server that has been silent for so long is asked, and given up when it does not answer. */
const SILENCE_MS = 30_000;

/**
 * Takes deltas in from the stream of a Signal K server (Signal K 1.7, streaming API over WebSocket), by the same reader
 * as its files.
 *
 * The stream has no acknowledgements: what was sent while the connection was gone does not come again. Load the server's
 * own log for such gaps; rows that are in count as duplicates there only under the same source.
 *
 * @param p.firstPauseMs - Shortest pause before a lost server is tried again; left out, 1 s.
 * @throws LiveSourceError when the rule is none for Signal K or the token variable is empty.
 */
export function startSignalkStream(p: LiveSetting & { source: SignalkSource; firstPauseMs?: number }): LiveSource {
  const { source, clock, say } = p;
  const feed = createLineFeed({ ...p, source: source.id, rule: ruleOf(p), secondOf: deltaSecond });
  const backOff = createBackOff(p.firstPauseMs === undefined ? {} : { firstMs: p.firstPauseMs });
  const headers = headersOf(source);
  let isStopping = false;
  let cancelRetry = () => {};
  let socket: WebSocket | undefined;

  const connect = () => {
    const url = new URL(source.url);
    url.searchParams.set('subscribe', 'none');
    const current = new WebSocket(url, {
      headers,
      maxPayload: MESSAGE_BYTES_MAX,
      handshakeTimeout: HANDSHAKE_TIMEOUT_MS,
    });
    socket = current;
    let cancelSilence = () => {};
    const listenFor = (lapses: number) => {
      cancelSilence();
      cancelSilence = clock.after(SILENCE_MS, () => {
        if (lapses > 0) current.terminate();
        else {
          current.ping();
          listenFor(1);
        }
      });
    };
    current.on('open', () => {
      backOff.reset();
      say(`${source.id}: connected to ${source.url}.`);
      current.send(JSON.stringify(subscription(ruleOf(p))));
      listenFor(0);
    });
    current.on('pong', () => listenFor(0));
    current.on('message', (data: Buffer) => {
      listenFor(0);
      // No more is read from the connection until the log has caught up.
      current.pause();
      void feed.line(oneLine(data)).then(() => current.resume());
    });
    current.on('error', (error) => say(`${source.id}: ${error.message}.`));
    current.on('close', () => {
      cancelSilence();
      if (isStopping) return;
      const pauseMs = backOff.next();
      say(`${source.id}: no connection to ${source.url}; trying again in ${pauseMs / 1000} s.`);
      cancelRetry = clock.after(pauseMs, connect);
    });
  };
  connect();
  return {
    id: source.id,
    async stop() {
      isStopping = true;
      cancelRetry();
      socket?.terminate();
      await feed.drain();
    },
  };
}

function ruleOf(p: LiveSetting & { source: SignalkSource }): SignalKRule {
  const rule = p.fleet.sources.find(({ id }) => id === p.source.rule);
  if (rule?.format === 'signalk_delta') return rule;
  throw new LiveSourceError(
    `${p.source.id}: the source rule ${p.source.rule} is none for Signal K; give it format: signalk_delta.`,
  );
}

function headersOf(source: SignalkSource): Record<string, string> {
  if (source.tokenVariable === undefined) return {};
  const token = process.env[source.tokenVariable];
  if (token === undefined || token === '') {
    throw new LiveSourceError(`${source.id}: the variable ${source.tokenVariable} holds no token; set it.`);
  }
  return { authorization: `Bearer ${token}` };
}

// Engines, and what lies round them; the reader picks from these by the rule.
function subscription(rule: SignalKRule): object {
  const paths = ['propulsion.*', 'environment.*'];
  return {
    context: rule.context ?? 'vessels.self',
    subscribe: paths.map((path) => ({ path, policy: 'instant', format: 'delta' })),
  };
}

// The reader takes one message a line; JSON has no line feeds but between tokens.
function oneLine(data: Buffer): Buffer {
  const line = Buffer.alloc(data.length + 1, 0x0a);
  for (let i = 0; i < data.length; i += 1) line[i] = data[i] === 0x0a || data[i] === 0x0d ? 0x20 : (data[i] as number);
  return line;
}

function deltaSecond(line: Uint8Array): string | undefined {
  return /"timestamp"\s*:\s*"([^"]{19})/.exec(Buffer.from(line).toString('latin1'))?.[1];
}
