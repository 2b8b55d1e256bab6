import { Command, CommanderError } from 'commander';
import { PortError } from '../storage/port-error.ts';
import { CommandFault, EXIT } from './command-fault.ts';
import { backtestCommand } from './commands/backtest.ts';
import { checkCommand } from './commands/check.ts';
import { deadLettersCommand } from './commands/dead-letters.ts';
import { exampleCommand } from './commands/example.ts';
import { explainCommand } from './commands/explain.ts';
import { findingsCommand } from './commands/findings.ts';
import { listenCommand } from './commands/listen.ts';
import { loadCommand } from './commands/load.ts';
import { reportCommand } from './commands/report.ts';
import { runCommand } from './commands/run.ts';
import { schemaCommand } from './commands/schema.ts';
import { serveCommand } from './commands/serve.ts';
import { signalsCommand } from './commands/signals.ts';
import { startCommand } from './commands/start.ts';
import { tasksCommand } from './commands/tasks.ts';
import { unitsCommand } from './commands/units.ts';
import { say } from './output.ts';
import { VERSION } from './version.ts';

const AFTER_HELP = `
Exit codes: 0 all well; 1 something was refused or failed; 2 the command was not understood.
Data goes to stdout, everything for people to stderr.

This software advises; it never acts on an engine. The limits of the engine's maker, local codes and licensed
practice come first.`;

/** The whole command with its subcommands. */
export function createProgram(): Command {
  const program = new Command('chargeair')
    .description('Condition monitoring for turbochargers and charge-air coolers of heavy diesel engines')
    .version(VERSION, '-V, --version', 'print the version')
    .addHelpText('after', AFTER_HELP)
    .showHelpAfterError('Add --help for what there is.');
  const commands = [
    startCommand(),
    exampleCommand(),
    checkCommand(),
    loadCommand(),
    listenCommand(),
    findingsCommand(),
    tasksCommand(),
    explainCommand(),
    unitsCommand(),
    reportCommand(),
    backtestCommand(),
    deadLettersCommand(),
    serveCommand(),
    runCommand(),
    signalsCommand(),
    schemaCommand(),
  ];
  for (const command of commands) program.addCommand(command);
  settle(program);
  return program;
}

/** Subcommands that are made on their own inherit nothing: each is told the same. */
function settle(command: Command): void {
  command
    .exitOverride()
    .helpCommand(command.commands.length > 0)
    .showHelpAfterError('Add --help for what there is.');
  command.commands.forEach((sub) => {
    settle(sub as Command);
  });
}

/**
 * Runs the command and gives its exit code. Whatever a person can cause is answered with a sentence; only a bug of ours
 * leaves a stack trace.
 *
 * @param argv - As Node has it: program, script, arguments.
 */
export async function runProgram(argv: readonly string[]): Promise<number> {
  try {
    await createProgram().parseAsync(argv);
    return Number(process.exitCode ?? EXIT.ok);
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? EXIT.ok : EXIT.usage;
    if (error instanceof CommandFault) {
      say(error.message);
      return error.exitCode;
    }
    if (error instanceof PortError) {
      say(error.message);
      return EXIT.refused;
    }
    say('This is a bug in chargeair, not a fault of yours. Please report what follows.');
    say(error instanceof Error ? (error.stack ?? error.message) : String(error));
    return EXIT.refused;
  }
}
