import { Command, InvalidArgumentError } from 'commander';
import type { BacktestScore, Rate } from '../../analysis/backtest-score.ts';
import { backtestPage } from '../../web/backtest-page.ts';
import { backtestSettings, parseTry, TRY_HELP, type Try } from '../backtest-settings.ts';
import { backtestView } from '../backtest-view.ts';
import { withIsoTimes } from '../iso-times.ts';
import { type ListOptions, type PlaceOptions, withListOptions, withPlaceOptions } from '../options.ts';
import { printJson, printTable, wantsJson } from '../output.ts';
import { choosePlace } from '../place.ts';
import { readKnownFaults } from '../read-known-faults.ts';
import { runBacktest } from '../run-backtest.ts';
import { listenForStop } from '../stop-signal.ts';
import { chooseUnits } from '../unit-choice.ts';
import { withLog } from '../wiring.ts';
import { writePage } from '../write-page.ts';

type BacktestOptions = PlaceOptions &
  ListOptions & {
    readonly unit?: readonly string[];
    readonly try?: readonly Try[];
    readonly faults?: string;
    readonly report?: string;
  };

/** `chargeair backtest`: what other settings would have made of the samples in the log. */
export function backtestCommand(): Command {
  const command = new Command('backtest').description(
    'run the analysis again over past samples with other settings, and hold them against what was found',
  );
  return withListOptions(withPlaceOptions(command))
    .option('-t, --try <setting>', TRY_HELP, collectTry)
    .option('-u, --unit <ids...>', 'only these units')
    .option(
      '--faults <file>',
      'complete list of known faults (CSV with the header unit,fault,from,to, or a JSON array); left out, what fitters found decides',
    )
    .option('-r, --report <file>', 'write a page that stands alone, with plots, to this file')
    .addHelpText(
      'after',
      '\nThe live settings come first. Nothing in the log, the history or the tasks is changed.\nExample: chargeair backtest --try rate=0.2 --try rate=5 --try reference-value=0.5,clip=3 --report backtest.html',
    )
    .action(backtest);
}

function collectTry(text: string, before: readonly Try[] | undefined): readonly Try[] {
  const tries = [...(before ?? []), parseTry(text)];
  if (tries.length > TRIES_MAX) throw new InvalidArgumentError(`Try at most ${TRIES_MAX} settings at once.`);
  return tries;
}

/** More rows than this no page can show side by side. */
const TRIES_MAX = 12;

async function backtest(options: BacktestOptions): Promise<void> {
  const place = await choosePlace(options);
  const { fleet } = place;
  const units = chooseUnits(fleet, options.unit);
  const faults = options.faults === undefined ? undefined : await readKnownFaults({ path: options.faults, fleet });
  const rate = fleet.fleet.falseFindingsPer100UnitsAndWeek;
  const settings = backtestSettings({ rate, tries: options.try ?? [] });
  const stop = listenForStop();
  try {
    const { signal } = stop;
    const result = await withLog({ folder: place.folder, access: 'read' }, (log) =>
      runBacktest({ log, units, settings, faults, signal }),
    );
    if (result === undefined) return;
    if (wantsJson(options)) for (const score of result.scores) printJson(withIsoTimes(asOutput(score)));
    else printScores(result.scores);
    if (options.report !== undefined) {
      await writePage(options.report, backtestPage(backtestView({ fleet, units, result })));
    }
  } finally {
    stop.release();
  }
}

function asOutput(score: BacktestScore): unknown {
  const { medianDelayDays, medianDelayRunningHours, precision, falsePer100UnitsAndWeek, atMostPer100UnitsAndWeek } =
    score;
  // What is not known is null rather than left out, so that every line has the same fields.
  return {
    ...score,
    medianDelayDays: medianDelayDays ?? null,
    medianDelayRunningHours: medianDelayRunningHours ?? null,
    precision: precision ?? null,
    falsePer100UnitsAndWeek: falsePer100UnitsAndWeek ?? null,
    atMostPer100UnitsAndWeek: atMostPer100UnitsAndWeek ?? null,
  };
}

function printScores(scores: readonly BacktestScore[]): void {
  printTable(
    [
      'setting',
      'detected',
      'delay, running h',
      'delay, days',
      'false per 100 units and week (90 %)',
      'at most',
      'upsets true/false/not looked into',
      'findings',
      'unit-weeks',
    ],
    scores.map((score) => [
      score.setting,
      `${score.detected}/${score.detected + score.missed}`,
      digits(score.medianDelayRunningHours),
      digits(score.medianDelayDays),
      rateText(score.falsePer100UnitsAndWeek),
      rateText(score.atMostPer100UnitsAndWeek),
      `${score.upsets.true}/${score.upsets.false}/${score.upsets.unjudged}`,
      String(score.findings),
      digits(score.healthyUnitWeeks),
    ]),
  );
}

function digits(value: number | undefined): string {
  return value === undefined ? '-' : value.toFixed(1);
}

function rateText(rate: Rate | undefined): string {
  return rate === undefined
    ? '-'
    : `${rate.estimate.toFixed(2)} (${rate.lower.toFixed(2)} to ${rate.upper.toFixed(2)})`;
}
