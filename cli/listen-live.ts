import { dirname } from 'node:path';
import { startCandumpPipe } from '../ingest/live/candump-pipe.ts';
import { systemClock } from '../ingest/live/clock.ts';
import { startHttpPush } from '../ingest/live/http-push.ts';
import { type LiveSetting, type LiveSource, LiveSourceError } from '../ingest/live/live-source.ts';
import { startMqtt } from '../ingest/live/mqtt.ts';
import { startSignalkStream } from '../ingest/live/signalk-stream.ts';
import { startWatchedFolder } from '../ingest/live/watched-folder.ts';
import type { FleetFile } from '../schemas/fleet-file.ts';
import type { LogPort } from '../storage/log/port.ts';
import { CommandFault } from './command-fault.ts';
import { say } from './output.ts';

/** Sources that run, and how to end them. */
export type Listening = {
  /** Ends all of them: what was accepted is durable when it resolves. */
  stop(): Promise<void>;
};

/**
 * Starts every live source that the fleet file names, and the pipe if one is given.
 *
 * @param p.fleetPath - The fleet file; relative names in its settings are below its folder.
 * @param p.candumpRule - Id of the source rule by which stdin is read; left out, stdin is left alone.
 * @param p.onFailure - Called when a source cannot go on.
 * @throws CommandFault when there is nothing to listen to or a setting cannot be used.
 */
export async function listenLive(p: {
  log: LogPort;
  fleet: FleetFile;
  fleetPath: string;
  candumpRule: string | undefined;
  onFailure: (error: unknown) => void;
}): Promise<Listening> {
  const setting: LiveSetting = { ...p, clock: systemClock, baseFolder: dirname(p.fleetPath), say };
  const running: LiveSource[] = [];
  const stop = async () => {
    await Promise.all(running.splice(0).map((source) => source.stop()));
  };
  try {
    for (const start of startersOf(setting, p.candumpRule)) running.push(await start());
  } catch (error) {
    await stop();
    if (error instanceof LiveSourceError) throw new CommandFault({ message: error.message });
    throw error;
  }
  return { stop };
}

type Starter = () => LiveSource | Promise<LiveSource>;

function startersOf(setting: LiveSetting, candumpRule: string | undefined): readonly Starter[] {
  const { http, mqtt = [], folders = [], signalk = [] } = setting.fleet.live ?? {};
  const starters: Starter[] = [
    ...(candumpRule === undefined ? [] : [() => startPipe(setting, candumpRule)]),
    ...(http === undefined ? [] : [() => startHttpPush({ ...setting, settings: http })]),
    ...mqtt.map((source) => () => startMqtt({ ...setting, source })),
    ...folders.map((source) => () => startWatchedFolder({ ...setting, source })),
    ...signalk.map((source) => () => startSignalkStream({ ...setting, source })),
  ];
  if (starters.length > 0) return starters;
  throw new CommandFault({
    message:
      'There is nothing to listen to: add a section "live" to the fleet file, or pipe a bus log in with --candump -.',
  });
}

function startPipe(setting: LiveSetting, ruleId: string): LiveSource {
  const rule = setting.fleet.sources.find(({ id }) => id === ruleId);
  if (rule === undefined || !(rule.format === 'j1939_candump' || rule.format === 'n2k_candump')) {
    const ids = setting.fleet.sources.filter(({ format }) => format.endsWith('_candump')).map(({ id }) => id);
    throw new CommandFault({
      message: `"${ruleId}" is no source rule for candump text; the fleet file has ${ids.length === 0 ? 'none' : ids.join(', ')}. Name one with --source.`,
    });
  }
  const pipe = startCandumpPipe({ ...setting, input: process.stdin, rule });
  say(`${pipe.id}: reads the bus from stdin.`);
  void pipe.ended.then(() => say(`${pipe.id}: the pipe has ended; what came is in.`));
  return pipe;
}
