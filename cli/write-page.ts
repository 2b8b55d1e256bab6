import { writeFile } from 'node:fs/promises';
import { CommandFault } from './command-fault.ts';
import { fileErrorSentence } from './file-error.ts';
import { say } from './output.ts';

/** Writes a page and says where; throws CommandFault when the file cannot be written. */
export async function writePage(path: string, text: string): Promise<void> {
  try {
    await writeFile(path, text);
  } catch (error) {
    throw new CommandFault({ message: `${path} ${fileErrorSentence(error)}` });
  }
  say(`Written: ${path}`);
}
