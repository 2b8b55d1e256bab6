import type { FleetFile } from '../schemas/fleet-file.ts';
import type { Unit } from '../schemas/unit.ts';
import { closestWord } from './closest-word.ts';
import { CommandFault } from './command-fault.ts';

/** The units of the fleet file with these ids, or all of them; throws CommandFault for an id that it does not know. */
export function chooseUnits(fleet: FleetFile, ids: readonly string[] | undefined): readonly Unit[] {
  return ids === undefined ? fleet.units : ids.map((id) => chooseUnit(fleet, id));
}

/** The unit with this id; throws CommandFault when the fleet file does not know it. */
export function chooseUnit(fleet: FleetFile, id: string): Unit {
  const unit = fleet.units.find((one) => one.id === id);
  if (unit !== undefined) return unit;
  const known = fleet.units.map((one) => one.id);
  const near = closestWord({ word: id, known });
  const hint = near === undefined ? `it has ${known.slice(0, 12).join(', ')}` : `did you mean ${near}?`;
  throw new CommandFault({ message: `The fleet file has no unit "${id}"; ${hint}` });
}
