import type { Duty as DutyName } from '../schemas/unit.ts';
import type { Duty } from './duty/duty.ts';
import { ferry, fishing, inlandCargo } from './duty/marine-duties.ts';
import { longHaul, regional, tipper } from './duty/road-duties.ts';
import type { EngineSpec } from './engine/engine-spec.ts';
import { marineEngine, roadEngine } from './engines.ts';
import { COAST } from './marine-units.ts';
import { INLAND } from './road-units.ts';
import type { Climate } from './weather.ts';

type Kind = {
  readonly duty: DutyName;
  readonly marine: boolean;
  readonly spec: EngineSpec;
  readonly work: Duty;
  readonly climate: Climate;
};

const truck = {
  displacementL: 12.8,
  ratedPowerKw: 345,
  ratedSpeedRpm: 1800,
  idleSpeedRpm: 600,
  designSpeedRpm: 1150,
  designBoostKpa: 178,
  designSinkC: 30,
} as const;
const ship = {
  displacementL: 24,
  ratedPowerKw: 560,
  ratedSpeedRpm: 1700,
  idleSpeedRpm: 600,
  designSpeedRpm: 1600,
  designBoostKpa: 175,
  designSinkC: 22,
  designShaftRpm: 64_000,
} as const;

/** Kinds of unit that a synthetic fleet is made of. */
export const syntheticKinds = {
  long_haul: {
    duty: 'long_haul',
    marine: false,
    spec: roadEngine({ ...truck, boostControl: 'wastegate' }),
    work: longHaul,
    climate: INLAND,
  },
  inland_cargo: { duty: 'inland_cargo', marine: true, spec: marineEngine(ship), work: inlandCargo, climate: COAST },
  regional: {
    duty: 'regional',
    marine: false,
    spec: roadEngine({ ...truck, boostControl: 'electronic' }),
    work: regional,
    climate: INLAND,
  },
  ferry: {
    duty: 'ferry',
    marine: true,
    spec: marineEngine({ ...ship, displacementL: 16, ratedPowerKw: 380, designShaftRpm: 78_000 }),
    work: ferry,
    climate: COAST,
  },
  tipper: {
    duty: 'tipper',
    marine: false,
    spec: roadEngine({ ...truck, boostControl: 'variable_geometry', designBoostKpa: 190 }),
    work: tipper,
    climate: INLAND,
  },
  fishing: {
    duty: 'fishing',
    marine: true,
    spec: marineEngine({ ...ship, displacementL: 22, ratedPowerKw: 440, designBoostKpa: 165 }),
    work: fishing,
    climate: COAST,
  },
} as const satisfies { readonly [name: string]: Kind };

export type SyntheticKind = keyof typeof syntheticKinds;
