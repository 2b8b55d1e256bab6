import type { Reject } from '../../schemas/reject.ts';
import type { SignalKUpdate } from '../../schemas/signalk-delta.ts';
import { SIGNALS } from '../../schemas/signals.ts';
import { type SignalKRule, unitsOfRule } from '../../schemas/source-rule.ts';
import { createEngineSamples, type EngineSamples, EVERY_UNIT, type Target } from './engine-samples.ts';
import { addQuantity, type QuantitySummary, type SignalKSummary } from './marine-summary.ts';
import { emptyStatistics } from './running-statistics.ts';
import { createStream } from './sender-choice.ts';
import { isLeakedCode, type SignalKPath, signalKPath } from './signalk-paths.ts';

/** Quantities of one sender told apart, and paths and engines counted apart; a large yacht has some hundreds. */
const QUANTITIES_MAX = 4096;
const PATHS_MAX = 2000;
/** Longest path or sender that is kept as a name. */
const NAME_MAX = 200;

type Series = {
  readonly quantity: QuantitySummary;
  readonly path: SignalKPath | undefined;
  readonly target: Target | undefined;
};

/** Takes the numbers out of updates, for every path and sender by itself. */
export type SignalKValues = {
  readonly samples: EngineSamples;
  /** Whether an update has a value of one of the rule's engines. */
  speaksForEngine(update: SignalKUpdate): boolean;
  /** Whether an update has a value that is read. */
  carriesSignal(update: SignalKUpdate): boolean;
  /** Counts the values of an update by path. */
  count(update: SignalKUpdate): void;
  /** @param p.isRead - Whether its context is the one that is read. */
  take(p: { update: SignalKUpdate; timeMs: number; isRead: boolean }, refuseValue: (reject: Reject) => void): void;
  summary(): Pick<SignalKSummary, 'values' | 'valuesPerPath' | 'quantities' | 'quantitiesLeftOut' | 'enginesLeftOut'>;
};

/** The sender of an update: `$source`, or what it is made of. */
export function senderOf(update: SignalKUpdate): string {
  if (update.$source !== undefined) return update.$source;
  const { label = '', src } = update.source ?? {};
  const address = src === undefined ? '' : String(src);
  return label !== '' && address !== '' ? `${label}.${address}` : label + address;
}

/** A reader of values for the engines of a rule. */
export function createSignalKValues(rule: SignalKRule): SignalKValues {
  const units = unitsOfRule(rule);
  const engines = new Map(Object.entries(rule.engines).map(([id, unit]) => [id, units.indexOf(unit)]));
  const samples = createEngineSamples(units);
  const series = new Map<string, Map<string, Series>>();
  let seriesCount = 0;
  const paths = new Map<string, SignalKPath | undefined>();
  const valuesPerPath = new Map<string, number>();
  const enginesLeftOut = new Map<string, number>();
  let values = 0;
  let leftOut = 0;

  const pathOf = (text: string): SignalKPath | undefined => {
    if (paths.has(text)) return paths.get(text);
    const path = signalKPath(text);
    if (paths.size < PATHS_MAX && text.length <= NAME_MAX) paths.set(text, path);
    return path;
  };
  const targetOf = (path: SignalKPath | undefined, sender: string): Target | undefined => {
    if (path === undefined) return undefined;
    const unit = path.engine === undefined ? EVERY_UNIT : engines.get(path.engine);
    const isAbsolute = path.signal === 'boostPressure' && rule.references?.boostPressure === 'absolute';
    const signal = isAbsolute ? 'intakeManifoldPressureAbsolute' : path.signal;
    if (unit === undefined || rule.leaveOut.includes(signal)) return undefined;
    const listed = rule.senders[signal];
    const place = listed === undefined ? 0 : listed.indexOf(sender);
    if (place < 0) return undefined;
    // Of several senders that the rule does not rank, the first to come.
    const stream = createStream((place * 4 + path.rank) * QUANTITIES_MAX + seriesCount);
    return { unit, signal, stream };
  };
  const seriesOf = (update: SignalKUpdate, text: string): Series | undefined => {
    const sender = senderOf(update);
    const pgn = update.source?.pgn;
    const ofPath = series.get(text);
    // A number stands last, so that no two are the same.
    const key = `${sender}/${pgn}`;
    const known = ofPath?.get(key);
    if (known !== undefined) return known;
    if (seriesCount >= QUANTITIES_MAX || text.length + sender.length > 2 * NAME_MAX) {
      leftOut += 1;
      return undefined;
    }
    const path = pathOf(text);
    const target = targetOf(path, sender);
    const made = { quantity: emptyQuantity({ text, sender, pgn, path, target }), path, target };
    seriesCount += 1;
    if (ofPath === undefined) series.set(text, new Map([[key, made]]));
    else ofPath.set(key, made);
    return made;
  };
  const takeNumber = (item: Series, number: number, timeMs: number, isRead: boolean): Reject | undefined => {
    const { quantity, path, target } = item;
    quantity.messages += 1;
    const scaled = path === undefined ? number : number * path.scale + path.offset;
    if (path !== undefined && isLeakedCode(path, number)) {
      quantity.wrongFill += 1;
      return quantity.wrongFill === 1 && isRead && target !== undefined ? leaked(quantity, number) : undefined;
    }
    addQuantity(quantity, { value: scaled, timeMs });
    return target === undefined || !isRead ? undefined : samples.offer(target, { value: scaled, timeMs });
  };

  return {
    samples,
    speaksForEngine: (update) =>
      (update.values ?? []).some(({ path }) => {
        const engine = pathOf(path)?.engine;
        return engine !== undefined && engines.has(engine);
      }),
    carriesSignal: (update) =>
      (update.values ?? []).some(({ path, value }) => {
        const found = typeof value === 'number' ? pathOf(path) : undefined;
        return found !== undefined && (found.engine === undefined || engines.has(found.engine));
      }),
    count(update) {
      for (const { path } of update.values ?? []) {
        values += 1;
        const name = path.slice(0, NAME_MAX);
        const before = valuesPerPath.get(name);
        if (before !== undefined || valuesPerPath.size < PATHS_MAX) valuesPerPath.set(name, (before ?? 0) + 1);
        const engine = pathOf(path)?.engine;
        if (engine === undefined || engines.has(engine)) continue;
        const seen = enginesLeftOut.get(engine);
        if (seen !== undefined || enginesLeftOut.size < PATHS_MAX) enginesLeftOut.set(engine, (seen ?? 0) + 1);
      }
    },
    take({ update, timeMs, isRead }, refuseValue) {
      for (const { path, value } of update.values ?? []) {
        if (typeof value !== 'number') continue;
        const item = seriesOf(update, path);
        if (item === undefined) continue;
        const reject = Number.isFinite(value) ? takeNumber(item, value, timeMs, isRead) : tooLarge(path);
        if (reject !== undefined) refuseValue(reject);
      }
    },
    summary: () => ({
      values,
      valuesPerPath,
      quantities: [...series.values()].flatMap((ofPath) => [...ofPath.values()].map(({ quantity }) => quantity)),
      quantitiesLeftOut: leftOut,
      enginesLeftOut,
    }),
  };
}

function emptyQuantity(p: {
  text: string;
  sender: string;
  pgn: number | undefined;
  path: SignalKPath | undefined;
  target: Target | undefined;
}): QuantitySummary {
  return {
    name: p.text,
    sender: p.sender,
    pgn: p.pgn,
    instance: undefined,
    source: undefined,
    signal: p.target?.signal,
    unit: p.path === undefined ? 'SI' : SIGNALS[p.path.signal].unit,
    messages: 0,
    notAvailable: 0,
    error: 0,
    reserved: 0,
    wrongFill: 0,
    statistics: emptyStatistics(),
    times: 0,
    firstValues: [],
  };
}

function leaked(quantity: QuantitySummary, value: number): Reject {
  return {
    code: 'value_out_of_range',
    field: quantity.signal ?? quantity.name,
    detail: `${quantity.name} of sender "${quantity.sender.slice(0, 60)}" is ${Number(value.toPrecision(7))}, which is the code for "not available" of a bus field: the converter passed it on as a number. Here and in what follows such values are left out, and counted in the report.`,
  };
}

function tooLarge(path: string): Reject {
  return {
    code: 'number_unreadable',
    field: path.slice(0, NAME_MAX),
    detail: 'The value is beyond what a number can hold; check the sender.',
  };
}
