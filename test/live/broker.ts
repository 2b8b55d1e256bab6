import { readFileSync } from 'node:fs';
import { createServer, type Server, type Socket } from 'node:net';
import { createServer as createTlsServer } from 'node:tls';
import { Aedes, type AedesOptions } from 'aedes';

/** A broker on the loopback address. */
export type Broker = {
  readonly url: string;
  readonly port: number;
  readonly aedes: Aedes;
  /** Packet ids in the order in which messages went out at quality of service 1, and in which they were acknowledged. */
  readonly delivered: number[];
  readonly acknowledged: number[];
  /** Cuts every connection, as a failing network does. */
  cut(): void;
  /** Cuts the connection of one client. */
  cutClient(id: string): void;
  stop(): Promise<void>;
};

/**
 * Starts a broker. It remembers in memory, until it stops.
 *
 * @param p.isSecret - Whether it speaks TLS, with a certificate of the test authority.
 */
export async function startBroker(
  p: { port?: number; options?: AedesOptions; isSecret?: boolean } = {},
): Promise<Broker> {
  const aedes = await Aedes.createBroker({ queueLimit: 10_000, ...p.options });
  const delivered: number[] = [];
  const acknowledged: number[] = [];
  const sockets = new Set<Socket>();
  const socketOf = new Map<string, { destroy(): void }>();
  aedes.on('client', (client) => socketOf.set(client.id, client.conn));
  const serve = (socket: Socket) => {
    sockets.add(socket);
    socket.on('close', () => sockets.delete(socket));
    socket.on('error', () => {});
    const readIn = packetReader(({ type, body }) => {
      if (type === PUBACK) acknowledged.push(body.readUInt16BE(0));
    });
    const readOut = packetReader(({ type, flags, body }) => {
      if (type === PUBLISH && (flags & 0b0110) === 0b0010) delivered.push(body.readUInt16BE(2 + body.readUInt16BE(0)));
    });
    socket.on('data', readIn);
    const write = socket.write.bind(socket) as (...args: unknown[]) => boolean;
    socket.write = ((chunk: Uint8Array | string, ...rest: unknown[]) => {
      readOut(typeof chunk === 'string' ? Buffer.from(chunk, rest[0] as BufferEncoding) : chunk);
      return write(chunk, ...rest);
    }) as Socket['write'];
    aedes.handle(socket);
  };
  const certificate = (name: string) => readFileSync(new URL(`./certificates/${name}`, import.meta.url));
  const server: Server =
    p.isSecret === true
      ? createTlsServer({ key: certificate('broker-key.pem'), cert: certificate('broker.pem') }, serve)
      : createServer(serve);
  server.on('tlsClientError', () => {});
  await new Promise<void>((resolve) => server.listen(p.port ?? 0, '127.0.0.1', resolve));
  const address = server.address();
  const port = typeof address === 'object' && address !== null ? address.port : 0;
  const cut = () => {
    for (const socket of sockets) socket.destroy();
  };
  return {
    url: `${p.isSecret === true ? 'mqtts' : 'mqtt'}://127.0.0.1:${port}`,
    port,
    aedes,
    delivered,
    acknowledged,
    cut,
    cutClient: (id) => socketOf.get(id)?.destroy(),
    async stop() {
      cut();
      await new Promise((resolve) => server.close(resolve));
      await new Promise<void>((resolve) => aedes.close(() => resolve()));
    },
  };
}

// Control packet types (MQTT 3.1.1, 2.2.1).
const PUBLISH = 3;
const PUBACK = 4;

type Packet = { readonly type: number; readonly flags: number; readonly body: Buffer };

/** Cuts a stream into packets by their fixed headers (MQTT 3.1.1, 2.2), for watching what goes over a connection. */
function packetReader(onPacket: (packet: Packet) => void): (chunk: Uint8Array) => void {
  let held = Buffer.alloc(0);
  return (chunk) => {
    held = Buffer.concat([held, chunk]);
    for (;;) {
      let length = 0;
      let at = 1;
      for (; at < held.length && at < 5; at += 1) {
        length += ((held[at] as number) & 0x7f) * 128 ** (at - 1);
        if ((held[at] as number) < 0x80) break;
      }
      const end = at + 1 + length;
      if (at >= held.length || held.length < end) return;
      const first = held[0] as number;
      onPacket({ type: first >> 4, flags: first & 0x0f, body: held.subarray(at + 1, end) });
      held = held.subarray(end);
    }
  };
}
