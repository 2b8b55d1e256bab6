import { Command } from 'commander';
import { demoFleetYaml } from '../../demo/write-logs.ts';
import { EXIT } from '../command-fault.ts';
import { withConfigOption } from '../options.ts';
import { print, printJson, say } from '../output.ts';
import { fleetPath } from '../place.ts';
import { faultLine, readFleetFile, readFleetText } from '../read-fleet-file.ts';

/** `chargeair check`: says whether a fleet file holds, and where and how to mend it when it does not. */
export function checkCommand(): Command {
  const command = new Command('check')
    .description('check a fleet file and say what would mend it')
    .argument('[file]', 'fleet file; the same as --config');
  return withConfigOption(command)
    .option('--json', 'print one JSON object')
    .action(async (file: string | undefined, options: { config?: string; json?: boolean }) => {
      const path = file ?? fleetPath(options);
      const name = path ?? 'the fleet of the demonstration';
      const checked =
        path === undefined ? readFleetText({ text: demoFleetYaml(), file: name }) : await readFleetFile({ path });
      if (options.json === true) {
        const counts = checked.ok
          ? {
              units: checked.value.units.length,
              places: checked.value.places.length,
              sources: checked.value.sources.length,
            }
          : {};
        printJson({ file: name, ok: checked.ok, ...counts, faults: checked.ok ? [] : checked.faults });
      } else if (checked.ok) {
        const { units, places, sources } = checked.value;
        print(`${name} holds: ${units.length} units at ${places.length} places, ${sources.length} rules for files.`);
      } else {
        for (const fault of checked.faults) say(faultLine(fault));
      }
      if (!checked.ok) process.exitCode = EXIT.refused;
    });
}
