import type { FastifyInstance, FastifyReply, FastifyRequest } from 'fastify';
import { z } from 'zod';
import { accept, type Checked, type Reject } from '../../schemas/reject.ts';
import type { Task } from '../../schemas/task.ts';
import { type MaintenanceWork, maintenanceWorkSchema } from '../../schemas/verdict.ts';
import { type PageFrame, THEMES } from '../../web/layout.ts';
import { plannerPage } from '../../web/planner-page.ts';
import { problemPage } from '../../web/problem-page.ts';
import { type FormProblem, fieldId } from '../../web/task-forms.ts';
import { taskPage } from '../../web/task-page.ts';
import { closeTask, getTask, recordMeasurement, takeTask } from '../tasks.ts';
import { readCookies, setCookie } from './cookies.ts';
import { entriesOf, type FormEntries, firstOf, readNumber } from './form-entries.ts';
import { problemOf } from './problem.ts';
import { plannerView, type Sources, taskView } from './views.ts';

/** What the routes of the pages need besides the sources. */
export type PageOptions = {
  readonly sources: Sources;
  readonly styleHref: string;
  /** Awaited after every change of a task that was recorded. */
  readonly afterAction: () => Promise<void>;
};

const plannerQuerySchema = z.object({
  place: z.string().max(200).catch(''),
  state: z.enum(['work', 'open', 'taken', 'closed', 'all']).catch('work'),
  group: z.enum(['due', 'place']).catch('due'),
});

const DONE_WORDS: Readonly<Record<string, string>> = {
  take: 'The task is yours.',
  measure: 'The value is recorded.',
  close: 'The task is closed. The next steady hours must show the departure gone; else it reopens.',
};

const HTML = 'text/html; charset=utf-8';

/** Adds the pages and their forms. Every form works without script and answers with a redirect to the page it changed. */
export function addPageRoutes(app: FastifyInstance, options: PageOptions): void {
  const { sources } = options;

  app.get('/', async (request, reply) => {
    const choice = plannerQuerySchema.parse(request.query);
    const view = await plannerView(sources, choice);
    return reply.type(HTML).send(plannerPage(frameOf(options, request), view));
  });

  app.get<{ Params: { id: string }; Querystring: { done?: string } }>('/tasks/:id', async (request, reply) => {
    const task = await getTask({ log: sources.log, id: request.params.id });
    if (task === undefined) return sendMissing(options, request, reply);
    const done = DONE_WORDS[String(request.query.done)];
    const view = { ...(await taskView(sources, task)), who: whoOf(request), ...(done === undefined ? {} : { done }) };
    return reply.type(HTML).send(taskPage(frameOf(options, request), view));
  });

  app.post('/view', async (request, reply) => {
    const entries = entriesOf(request.body);
    const theme = z.enum(THEMES).catch('auto').parse(firstOf(entries, 'theme'));
    setCookie(reply, { name: 'theme', value: theme });
    return reply.redirect(safePath(firstOf(entries, 'back')), 303);
  });

  addForm(app, options, 'take', (task, entries) =>
    takeTask({ log: sources.log, task, ...byWhom(options, entries), from: firstOf(entries, 'from') }),
  );
  addForm(app, options, 'measure', (task, entries) =>
    recordMeasurement({
      log: sources.log,
      task,
      ...byWhom(options, entries),
      check: firstOf(entries, 'check'),
      value: readNumber(firstOf(entries, 'value')),
      state: firstOf(entries, 'state'),
    }),
  );
  addForm(app, options, 'close', (task, entries) => {
    const given = <K extends string>(name: K) =>
      firstOf(entries, name) === '' ? {} : { [name]: firstOf(entries, name) };
    const work = readWork(entries['work'] ?? []);
    if (!work.ok) return Promise.resolve(work);
    return closeTask({
      log: sources.log,
      task,
      ...byWhom(options, entries),
      found: firstOf(entries, 'found'),
      work: work.value,
      signals: (entries['signals'] ?? []).filter((signal) => signal !== ''),
      note: firstOf(entries, 'note'),
      ...given('failureMode'),
      ...given('failureMechanism'),
    });
  });
}

function byWhom({ sources }: PageOptions, entries: FormEntries): { who: string; atMs: number } {
  return { who: firstOf(entries, 'who'), atMs: sources.clock() };
}

function readWork(texts: readonly string[]): Checked<MaintenanceWork[]> {
  const parsed = z.array(maintenanceWorkSchema).safeParse(texts);
  if (parsed.success) return accept(parsed.data);
  const reject: Reject = { code: 'value_out_of_range', field: 'work', detail: 'Choose the work from the list.' };
  return { ok: false, reject };
}

type Perform = (task: string, entries: FormEntries) => Promise<Checked<Task>>;

function addForm(app: FastifyInstance, options: PageOptions, form: FormProblem['form'], perform: Perform): void {
  app.post<{ Params: { id: string } }>(`/tasks/:id/${form}`, async (request, reply) => {
    const entries = entriesOf(request.body);
    const outcome = await perform(request.params.id, entries);
    if (outcome.ok) {
      await options.afterAction();
      setCookie(reply, { name: 'who', value: firstOf(entries, 'who').trim() });
      const anchor = form === 'measure' ? `#step-${firstOf(entries, 'check')}` : '';
      return reply.redirect(`/tasks/${outcome.value.id}?done=${form}${anchor}`, 303);
    }
    const task = await getTask({ log: options.sources.log, id: request.params.id });
    if (task === undefined) return sendMissing(options, request, reply);
    const { reject } = outcome;
    const check = form === 'measure' ? firstOf(entries, 'check') : undefined;
    const problem: FormProblem = {
      form,
      field: reject.field,
      detail: reject.detail,
      anchor:
        reject.field === 'state'
          ? 'main'
          : fieldId({ form, field: reject.field, ...(check === undefined ? {} : { check }) }),
      entered: entries,
    };
    const view = { ...(await taskView(options.sources, task)), who: whoOf(request), problem };
    const frame = { ...frameOf(options, request), path: `/tasks/${task.id}` };
    return reply.code(problemOf(reject).status).type(HTML).send(taskPage(frame, view));
  });
}

function sendMissing(options: PageOptions, request: FastifyRequest, reply: FastifyReply): FastifyReply {
  const detail = 'There is no task with this address. It may belong to another fleet; open one from the list.';
  return reply
    .code(404)
    .type(HTML)
    .send(problemPage({ ...frameOf(options, request), path: '/' }, { title: 'No such task', detail }));
}

/** What every page needs, read from the request. */
export function frameOf(options: Pick<PageOptions, 'sources' | 'styleHref'>, request: FastifyRequest): PageFrame {
  const { fleet } = options.sources.fleet;
  return {
    fleetName: fleet.name,
    zone: fleet.timeZone,
    nowMs: options.sources.clock(),
    theme: z.enum(THEMES).catch('auto').parse(readCookies(request)['theme']),
    styleHref: options.styleHref,
    path: request.method === 'GET' ? safePath(request.url) : '/',
  };
}

function whoOf(request: FastifyRequest): string {
  return readCookies(request)['who'] ?? '';
}

/** A path on this server; anything that could lead elsewhere becomes the first page. */
function safePath(path: string): string {
  return /^\/(?![/\\])[\x21-\x7e]*$/.test(path) ? path : '/';
}
