import { Argument, Command } from 'commander';
import { assert } from '../../schemas/assert.ts';
import { isJsonSchemaName, JSON_SCHEMA_NAMES, jsonSchemaText } from '../../schemas/json-schemas.ts';

/** `chargeair schema NAME`: the JSON Schema of a record or file, for other programs and for editors. */
export function schemaCommand(): Command {
  return new Command('schema')
    .description('print the JSON Schema of a record or of the fleet file')
    .addArgument(new Argument('<name>', 'which one').choices(JSON_SCHEMA_NAMES))
    .action((name: string) => {
      assert(isJsonSchemaName(name), 'the argument is one of the choices');
      process.stdout.write(jsonSchemaText(name));
    });
}
