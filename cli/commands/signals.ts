import { Command } from 'commander';
import { SIGNAL_KEYS, SIGNALS, type Signal } from '../../schemas/signals.ts';
import { withListOptions } from '../options.ts';
import { printJson, printTable, wantsJson } from '../output.ts';

/** `chargeair signals`: every signal that a source may bring, with its unit, reference and possible range. */
export function signalsCommand(): Command {
  const command = new Command('signals').description('list the signals that a source may bring, with their units');
  return withListOptions(command).action((options: { json?: boolean; table?: boolean }) => {
    const signals = SIGNAL_KEYS.map((key): { key: string } & Signal => ({ key, ...SIGNALS[key] }));
    if (wantsJson(options)) {
      for (const { key, term, unit, reference, min, max } of signals)
        printJson({ signal: key, term, unit, reference, min, max });
      return;
    }
    printTable(
      ['signal', 'unit', 'reference', 'range', 'what it is'],
      signals.map((s) => [s.key, s.unit, s.reference ?? '', `${s.min} to ${s.max}`, s.term]),
    );
  });
}
