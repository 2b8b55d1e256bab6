import { Command, Option } from 'commander';
import { closeTask, getTask, listTasks, takeTask } from '../../alerts/tasks.ts';
import type { Checked } from '../../schemas/reject.ts';
import { TASK_STATES, type Task, type TaskState } from '../../schemas/task.ts';
import { MAINTENANCE_WORK, type MaintenanceWork } from '../../schemas/verdict.ts';
import { CommandFault } from '../command-fault.ts';
import { isoTime, withIsoTimes } from '../iso-times.ts';
import { type ListOptions, type PlaceOptions, withListOptions, withPlaceOptions } from '../options.ts';
import { print, printJson, printTable, say, wantsJson } from '../output.ts';
import { choosePlace } from '../place.ts';
import { withLog } from '../wiring.ts';

type ListTasksOptions = PlaceOptions & ListOptions & { readonly unit?: string; readonly state?: TaskState };
type TakeOptions = PlaceOptions & { readonly who: string; readonly from?: string; readonly json?: boolean };
type CloseOptions = PlaceOptions & {
  readonly who: string;
  readonly found: string;
  readonly work: readonly MaintenanceWork[];
  readonly signal?: readonly string[];
  readonly note: string;
  readonly failureMode?: string;
  readonly failureMechanism?: string;
  readonly json?: boolean;
};

/** `chargeair tasks`: lists the inspection tasks; below it `show`, `take` and `close`. */
export function tasksCommand(): Command {
  const command = new Command('tasks').description(
    'list inspection tasks, most urgent first; show, take and close them',
  );
  command
    .addCommand(listCommand(), { isDefault: true })
    .addCommand(showCommand())
    .addCommand(takeCommand())
    .addCommand(closeCommand());
  return command;
}

function listCommand(): Command {
  return withListOptions(
    withPlaceOptions(new Command('list').description('list tasks, most urgent first (the default)')),
  )
    .option('-u, --unit <id>', 'only tasks of this unit')
    .addOption(new Option('-s, --state <state>', 'only tasks in this state').choices(TASK_STATES))
    .action(async (options: ListTasksOptions) => {
      const place = await choosePlace(options);
      await withLog({ folder: place.folder, access: 'read' }, async (log) => {
        const filter = {
          ...(options.unit === undefined ? {} : { units: [options.unit] }),
          ...(options.state === undefined ? {} : { states: [options.state] }),
        };
        const tasks = await listTasks({ log, filter });
        if (wantsJson(options)) for (const task of tasks) printJson(withIsoTimes(task));
        else printTable(['task', 'unit', 'state', 'severity', 'due by', 'what to inspect for'], tasks.map(row));
      });
    });
}

function row(task: Task): string[] {
  return [task.id, task.unit, task.state, task.severity, isoTime(task.dueByMs), task.title];
}

function showCommand(): Command {
  return withPlaceOptions(new Command('show').description('print one task with its cautions and checks'))
    .argument('<id>', 'task, as the list names it')
    .option('--json', 'print it as one JSON object on one line, rather than indented')
    .action(async (id: string, options: PlaceOptions & { json?: boolean }) => {
      const place = await choosePlace(options);
      await withLog({ folder: place.folder, access: 'read' }, async (log) => {
        const task = await getTask({ log, id });
        if (task === undefined) throw unknownTask(id);
        if (options.json === true) printJson(withIsoTimes(task));
        else print(JSON.stringify(withIsoTimes(task), null, 2));
      });
    });
}

function takeCommand(): Command {
  return withPlaceOptions(new Command('take').description('take a task on'))
    .argument('<id>', 'task, as the list names it')
    .requiredOption('-w, --who <name>', 'who takes it')
    .option('--from <name>', 'who has it now, when it is taken over from somebody')
    .option('--json', 'print the task as one JSON object')
    .action(async (id: string, options: TakeOptions) => {
      const place = await choosePlace(options);
      await withLog({ folder: place.folder, access: 'change' }, async (log) => {
        const taken = await takeTask({ log, task: id, who: options.who, from: options.from ?? '', atMs: Date.now() });
        report(taken, { ...options, says: (task) => `Task ${task.id} is now with ${options.who}.` });
      });
    });
}

function closeCommand(): Command {
  return withPlaceOptions(new Command('close').description('close a task with what was found and done'))
    .argument('<id>', 'task, as the list names it')
    .requiredOption('-w, --who <name>', 'who closes it')
    .requiredOption('-f, --found <cause>', 'the cause that was found, as the task names it, or none_found')
    .addOption(
      new Option('--work <work...>', 'what was done').choices(Object.keys(MAINTENANCE_WORK)).default(['nothing_done']),
    )
    .option('--signal <signals...>', 'for work on a sensor: the signals it touched')
    .option('-n, --note <text>', 'what was seen', '')
    .option('--failure-mode <code>', 'ISO 14224 failure mode')
    .option('--failure-mechanism <code>', 'ISO 14224 failure mechanism')
    .option('--json', 'print the task as one JSON object')
    .action(async (id: string, options: CloseOptions) => {
      const place = await choosePlace(options);
      const { who, found, work, note } = options;
      await withLog({ folder: place.folder, access: 'change' }, async (log) => {
        const closed = await closeTask({
          log,
          task: id,
          who,
          found,
          work,
          note,
          atMs: Date.now(),
          ...(options.signal === undefined ? {} : { signals: options.signal }),
          ...(options.failureMode === undefined ? {} : { failureMode: options.failureMode }),
          ...(options.failureMechanism === undefined ? {} : { failureMechanism: options.failureMechanism }),
        });
        report(closed, {
          ...options,
          says: (task) => `Task ${task.id} is closed: ${found}. The next steady hours will show whether it is gone.`,
        });
      });
    });
}

function report(checked: Checked<Task>, p: { readonly json?: boolean; readonly says: (task: Task) => string }): void {
  if (!checked.ok) throw new CommandFault({ message: `${checked.reject.field}: ${checked.reject.detail}` });
  if (p.json === true) printJson(withIsoTimes(checked.value));
  else say(p.says(checked.value));
}

function unknownTask(id: string): CommandFault {
  return new CommandFault({ message: `There is no task "${id}"; \`chargeair tasks\` lists them.` });
}
