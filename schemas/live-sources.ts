import { z } from 'zod';

const idSchema = z
  .string()
  .regex(/^[A-Za-z0-9][A-Za-z0-9._-]{0,99}$/, 'may have letters, digits, dots, dashes and underscores only');
const portSchema = z.int().min(0).max(65_535);

const httpSchema = z.strictObject({
  /** Address to listen at; this machine alone unless said otherwise. Others should come through a proxy with TLS. */
  host: z.string().min(1).default('127.0.0.1'),
  port: portSchema.default(8474),
  /** File with one line a source: its id and the SHA-256 of its token; `chargeair listen --make-token` gives both. */
  tokensFile: z.string().min(1),
  sources: z
    .array(
      z.strictObject({
        id: idSchema,
        /** Units it may send readings of; left out, all of the fleet. */
        units: z.array(z.string().min(1)).optional(),
      }),
    )
    .min(1),
});

const topicSchema = z.strictObject({
  /** Topic in which `{unit}` stands for a unit's id and `{signal}` for a signal's key; `+` for any one level. */
  pattern: z
    .string()
    .min(1)
    .refine((text) => !text.includes('#'), 'may not contain #; name every level, + for any')
    .refine((text) => text.split('/').includes('{unit}'), 'needs a level {unit}'),
  /** For topics with `{signal}`: units of the numbers by signal, where they are not the canonical ones. */
  units: z.record(z.string(), z.string().min(1)).optional(),
  /** For topics with `{signal}`: what pressures are measured against, where it is not the canonical reference. */
  references: z.record(z.string(), z.enum(['gauge', 'absolute', 'differential'])).optional(),
});
export type MqttTopicRule = z.infer<typeof topicSchema>;

const mqttSchema = z.strictObject({
  id: idSchema,
  /** mqtt://host:1883 or mqtts://host:8883, without user or password. */
  url: z
    .url({ protocol: /^mqtts?$/, error: 'is no address of a broker; write mqtt://host:1883 or mqtts://host:8883' })
    .refine(
      (text) => !/^[a-z]+:\/\/[^/]*@/.test(text),
      'may not hold a password; use passwordFile or passwordVariable',
    ),
  /** Name under which the broker keeps messages while we are away; must stay the same and be nobody else's. */
  clientId: z.string().min(1).max(64).optional(),
  topics: z.array(topicSchema).min(1),
  /** Topic that says, retained, whether we are connected: `online` or `offline`. */
  statusTopic: z.string().min(1).optional(),
  /** Certificates of the authority that the broker's certificate is checked against; left out, those of the system. */
  caFile: z.string().min(1).optional(),
  user: z.string().min(1).optional(),
  passwordFile: z.string().min(1).optional(),
  /** Environment variable that holds the password. */
  passwordVariable: z.string().min(1).optional(),
});
export type MqttSource = z.infer<typeof mqttSchema>;

const folderSchema = z.strictObject({
  id: idSchema,
  path: z.string().min(1),
  /** A file is complete once size and time have not changed for so long. */
  settleSeconds: z.number().min(0).max(3600).default(10),
  pollSeconds: z.number().min(0.05).max(3600).default(5),
  /** Endings that files bear only once they are whole, since they are written under another name and renamed. */
  wholeOnArrival: z.array(z.string().min(1)).default([]),
});
export type FolderSource = z.infer<typeof folderSchema>;

const signalkSchema = z.strictObject({
  id: idSchema,
  /** ws:// or wss:// address of the server's stream, with its path. */
  url: z.url({ protocol: /^wss?$/, error: 'is no address of a stream; write ws://host:port/signalk/v1/stream' }),
  /** Source rule of the fleet file that says which engine is which unit. */
  rule: z.string().min(1),
  /** Environment variable that holds the server's access token. */
  tokenVariable: z.string().min(1).optional(),
});
export type SignalkSource = z.infer<typeof signalkSchema>;

export const liveSourcesSchema = z
  .strictObject({
    http: httpSchema.optional(),
    mqtt: z.array(mqttSchema).default([]),
    folders: z.array(folderSchema).default([]),
    signalk: z.array(signalkSchema).default([]),
  })
  .superRefine((live, context) => {
    const ids = [...(live.http?.sources ?? []), ...live.mqtt, ...live.folders, ...live.signalk].map(({ id }) => id);
    for (const id of ids.filter((one, index) => ids.indexOf(one) < index)) {
      context.addIssue({ code: 'custom', path: [], message: `has "${id}" twice; give each source its own id` });
    }
  });

/** Sources that send while they measure, beside the files that people load. */
export type LiveSources = z.infer<typeof liveSourcesSchema>;

/** What is wrong between live sources and the rest of the fleet file, with the path below `live`. */
export function liveSourceIssues(p: {
  live: LiveSources;
  unitIds: readonly string[];
  rules: readonly { readonly id: string }[];
}): { readonly path: (string | number)[]; readonly message: string }[] {
  const issues: { path: (string | number)[]; message: string }[] = [];
  const rules = p.rules.map(({ id }) => id);
  for (const [i, source] of (p.live.http?.sources ?? []).entries()) {
    for (const [j, unit] of (source.units ?? []).entries()) {
      if (!p.unitIds.includes(unit)) {
        issues.push({ path: ['http', 'sources', i, 'units', j], message: `"${unit}" is not among the units` });
      }
    }
    if (rules.includes(source.id)) issues.push({ path: ['http', 'sources', i, 'id'], message: TAKEN });
  }
  for (const [i, source] of p.live.mqtt.entries()) {
    if (rules.includes(source.id)) issues.push({ path: ['mqtt', i, 'id'], message: TAKEN });
    if (source.passwordFile !== undefined && source.passwordVariable !== undefined) {
      issues.push({ path: ['mqtt', i], message: 'has passwordFile and passwordVariable; keep one of them' });
    }
  }
  for (const [i, source] of p.live.signalk.entries()) {
    if (rules.includes(source.id)) issues.push({ path: ['signalk', i, 'id'], message: TAKEN });
    if (!rules.includes(source.rule)) {
      issues.push({ path: ['signalk', i, 'rule'], message: `"${source.rule}" is no source rule; add it to sources` });
    }
  }
  return issues;
}

// The intake knows what it has seen by unit and source; one name for two would let each drop the other's readings.
const TAKEN = 'is the id of a source rule too; give the live source a name of its own';
