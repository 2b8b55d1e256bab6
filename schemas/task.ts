import { z } from 'zod';
import { causeGroupSchema, causeSchema, findingKindSchema, limitSchema, severitySchema } from './finding.ts';
import { measurementSchema, verdictSchema } from './verdict.ts';

export const TASK_STATES = ['open', 'taken', 'closed', 'verified', 'reopened'] as const;
export const taskStateSchema = z.enum(TASK_STATES);
export type TaskState = z.infer<typeof taskStateSchema>;

/** Least dismantling first; a step of a later stage is only reached when the earlier ones did not settle it. */
export const CHECK_STAGES = ['codes_and_log', 'sensor', 'look_and_listen', 'measure', 'open'] as const;
export type CheckStage = (typeof CHECK_STAGES)[number];

export const checkSchema = z.strictObject({
  id: z.string(),
  stage: z.enum(CHECK_STAGES),
  /** What to do, as one instruction to a fitter. */
  instruction: z.string(),
  tool: z.string().optional(),
  /** What to write down, with its unit. */
  measure: z.strictObject({ quantity: z.string(), unit: z.string() }).optional(),
  /** When it is good. Says whose figure it is; a common-practice figure is never shown as a limit. */
  accept: z.string().optional(),
  cautions: z.array(z.string()),
  /** Ids of the leading causes that its outcome speaks for or against. */
  bearsOn: z.array(z.string()),
  /** True when it tells the leading causes apart; such steps come first in their stage. */
  separating: z.boolean(),
});
/** One step of an inspection. */
export type Check = z.infer<typeof checkSchema>;

export const taskFindingSchema = z.strictObject({
  id: z.string(),
  kind: findingKindSchema,
  severity: severitySchema,
  sinceMs: z.int(),
  atMs: z.int(),
  updatedAtMs: z.int(),
  cleared: z.boolean(),
  subject: z.string(),
  sentence: z.string(),
  causes: z.array(causeSchema),
  causeGroups: z.array(causeGroupSchema),
  separatingChecks: z.array(z.string()),
  troubleCodes: z.array(z.string()),
  limit: limitSchema.optional(),
});
/** What a task remembers of one finding: its newest version, without the pattern. */
export type TaskFinding = z.infer<typeof taskFindingSchema>;

export const taskEventSchema = z.strictObject({
  atMs: z.int(),
  who: z.string(),
  what: z.string(),
  why: z.string(),
});
/** One line of a task's history: when, who, what, and why. */
export type TaskEvent = z.infer<typeof taskEventSchema>;

export const taskSchema = z.strictObject({
  version: z.literal(1),
  id: z.string(),
  unit: z.string(),
  state: taskStateSchema,
  /** What to inspect for, in words. */
  title: z.string(),
  /** Worst severity of its findings so far; it grows and never shrinks while the task is open. */
  severity: severitySchema,
  openedAtMs: z.int(),
  updatedAtMs: z.int(),
  /** Inspect before this time: from the severity and, where there is one, from the time left to the limit. */
  dueByMs: z.int(),
  dueReason: z.string(),
  takenBy: z.string().optional(),
  findings: z.array(taskFindingSchema),
  /** How often the findings of this task were reported, repeats merged. */
  reports: z.int().positive(),
  causes: z.array(causeSchema),
  causeGroups: z.array(causeGroupSchema),
  separatingChecks: z.array(z.string()),
  troubleCodes: z.array(z.string()),
  /** Before any step. */
  cautions: z.array(z.string()),
  checks: z.array(checkSchema),
  measurements: z.array(measurementSchema),
  /** Of the last closing; those before it, where the task was reopened, stand in `earlierVerdicts`, oldest first. */
  verdict: verdictSchema.optional(),
  earlierVerdicts: z.array(verdictSchema),
  /** Everything that happened to it, oldest first; only ever added to. */
  history: z.array(taskEventSchema),
});

/** An inspection job: why, what to check in which order, how soon, and what was found. */
export type Task = z.infer<typeof taskSchema>;
