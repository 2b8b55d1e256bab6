import { writeFile } from 'node:fs/promises';
import { Command } from 'commander';
import { CommandFault } from '../command-fault.ts';
import { EXAMPLE_FLEET } from '../example-fleet.ts';
import { fileErrorSentence } from '../file-error.ts';
import { say } from '../output.ts';

/** `chargeair example`: a commented fleet file to begin with. */
export function exampleCommand(): Command {
  return new Command('example')
    .description('write a commented fleet file to begin with')
    .option('-o, --output <file>', 'write it to this file, which must not exist yet, instead of stdout')
    .action(async (options: { output?: string }) => {
      if (options.output === undefined) {
        process.stdout.write(EXAMPLE_FLEET);
        return;
      }
      try {
        await writeFile(options.output, EXAMPLE_FLEET, { flag: 'wx' });
      } catch (error) {
        throw new CommandFault({ message: `${options.output} ${fileErrorSentence(error)}` });
      }
      say(`Wrote ${options.output}. Describe your fleet in it, then run: chargeair check --config ${options.output}`);
    });
}
