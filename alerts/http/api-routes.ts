import type { FastifyInstance } from 'fastify';
import type { ZodTypeProvider } from 'fastify-type-provider-zod';
import { z } from 'zod';
import { findingSchema } from '../../schemas/finding.ts';
import { TASK_STATES, taskSchema } from '../../schemas/task.ts';
import { SERIES_BUCKETS_MAX } from '../limits.ts';
import { getTask, listTasks } from '../tasks.ts';
import { sendProblem } from './problem.ts';
import { seriesOf } from './task-chart.ts';
import { type Sources, unitLines } from './views.ts';

const problemSchema = z.unknown();
const bucketSchema = z.object({
  fromMs: z.number(),
  toMs: z.number(),
  count: z.number(),
  min: z.number(),
  max: z.number(),
  mean: z.number(),
  expected: z.number().optional(),
  sd: z.number().optional(),
});
const unitLineSchema = z.object({
  id: z.string(),
  name: z.string(),
  kind: z.string(),
  placeId: z.string(),
  condition: z.string(),
  lastDataMs: z.number().optional(),
  tasks: z.array(z.object({ id: z.string(), title: z.string(), state: z.enum(TASK_STATES) })).readonly(),
});
/** A time with its offset (RFC 3339), or ms since 1970 UTC. */
const timeSchema = z.union([
  z.iso.datetime({ offset: true }).transform((text) => Date.parse(text)),
  z
    .string()
    .regex(/^\d{1,15}$/, 'give a time such as 2026-11-25T08:00:00Z')
    .transform(Number),
]);

/** Adds the machine-readable side: tasks, findings, units and series as JSON, problems after RFC 9457. */
export function addApiRoutes(plain: FastifyInstance, sources: Sources): void {
  const app = plain.withTypeProvider<ZodTypeProvider>();

  app.get(
    '/api/tasks',
    {
      schema: {
        querystring: z.strictObject({
          unit: z.string().optional(),
          place: z.string().optional(),
          state: z.enum(TASK_STATES).optional(),
        }),
        response: { 200: z.object({ tasks: z.array(taskSchema) }) },
      },
    },
    async ({ query }) => {
      const here = sources.fleet.units
        .filter(
          (unit) =>
            (query.place === undefined || unit.place === query.place) &&
            (query.unit === undefined || unit.id === query.unit),
        )
        .map(({ id }) => id);
      const units = query.place === undefined && query.unit !== undefined ? [query.unit] : here;
      const narrowed = query.place !== undefined || query.unit !== undefined;
      const filter = {
        ...(narrowed ? { units } : {}),
        ...(query.state === undefined ? {} : { states: [query.state] }),
      };
      return { tasks: await listTasks({ log: sources.log, filter }) };
    },
  );

  app.get(
    '/api/tasks/:id',
    { schema: { params: z.object({ id: z.string() }), response: { 200: taskSchema, 404: problemSchema } } },
    async ({ params }, reply) => {
      const task = await getTask({ log: sources.log, id: params.id });
      if (task !== undefined) return task;
      return sendProblem(reply, {
        status: 404,
        title: 'No such task',
        detail: `There is no task "${params.id}"; /api/tasks lists them.`,
      });
    },
  );

  app.get(
    '/api/findings',
    {
      schema: {
        querystring: z.strictObject({ unit: z.string().optional(), state: z.enum(['open', 'cleared']).optional() }),
        response: { 200: z.object({ findings: z.array(findingSchema) }) },
      },
    },
    async ({ query }) => ({
      findings: [...(await sources.findings.current()).values()]
        .filter(({ unit, state }) => (query.unit ?? unit) === unit && (query.state ?? state) === state)
        .sort((a, b) => b.updatedAtMs - a.updatedAtMs || (a.id < b.id ? -1 : 1)),
    }),
  );

  app.get('/api/units', { schema: { response: { 200: z.object({ units: z.array(unitLineSchema) }) } } }, async () => ({
    units: await unitLines(sources, await listTasks({ log: sources.log })),
  }));

  app.get(
    '/api/series',
    {
      schema: {
        querystring: z.strictObject({
          unit: z.string(),
          channel: z.string(),
          from: timeSchema,
          to: timeSchema,
          buckets: z
            .string()
            .regex(/^\d+$/)
            .transform(Number)
            .pipe(z.int().min(1).max(SERIES_BUCKETS_MAX))
            .default(200),
        }),
        response: {
          200: z.object({ unit: z.string(), channel: z.string(), buckets: z.array(bucketSchema) }),
          404: problemSchema,
          422: problemSchema,
        },
      },
    },
    async ({ query }, reply) => {
      const of = seriesOf(query.channel);
      if (of === undefined || !sources.fleet.units.some(({ id }) => id === query.unit)) {
        const what = of === undefined ? `channel or signal "${query.channel}"` : `unit "${query.unit}"`;
        return sendProblem(reply, { status: 404, title: 'No such series', detail: `There is no ${what}.` });
      }
      if (query.from >= query.to) {
        return sendProblem(reply, { status: 422, title: 'Empty span', detail: '"from" must be before "to".' });
      }
      const buckets = await sources.history.series({
        unit: query.unit,
        of,
        fromMs: query.from,
        toMs: query.to,
        buckets: query.buckets,
      });
      return { unit: query.unit, channel: query.channel, buckets: [...buckets] };
    },
  );
}
