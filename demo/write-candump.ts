import type { ModelSignal } from './engine/outputs.ts';
import type { LogForm } from './log-forms.ts';
import type { UnitDay } from './simulate-unit.ts';
import type { UnitPlan } from './unit-plan.ts';
import type { LogText } from './write-csv.ts';

type CandumpForm = Extract<LogForm, { form: 'j1939_candump' }>;

/** Where a signal stands in a message: value = raw · scale + offset, bytes counted from 1, low byte first. */
type Field = {
  readonly key: ModelSignal;
  readonly first: number;
  readonly bytes: 1 | 2 | 4;
  readonly scale: number;
  readonly offset: number;
};
type Message = {
  readonly priority: number;
  readonly pgn: number;
  readonly everySamples: number;
  readonly fields: readonly Field[];
};

const field = (key: ModelSignal, first: number, bytes: 1 | 2 | 4, scale: number, offset: number): Field => ({
  key,
  first,
  bytes,
  scale,
  offset,
});

/** Layouts as in SAE J1939-71 (single facts out of public decoder tables: message, place, scale, offset). */
const MESSAGES: readonly Message[] = [
  { priority: 3, pgn: 61444, everySamples: 1, fields: [field('engineSpeed', 4, 2, 0.125, 0)] },
  { priority: 3, pgn: 61443, everySamples: 1, fields: [field('engineLoad', 3, 1, 1, 0)] },
  {
    priority: 6,
    pgn: 65270,
    everySamples: 1,
    fields: [
      field('boostPressure', 2, 1, 2, 0),
      field('intakeManifoldTemperature', 3, 1, 1, -40),
      field('airFilterDifferentialPressure', 5, 1, 0.05, 0),
      field('exhaustTemperature', 6, 2, 0.03125, -273),
    ],
  },
  { priority: 6, pgn: 65263, everySamples: 1, fields: [field('oilPressure', 4, 1, 4, 0)] },
  {
    priority: 6,
    pgn: 65262,
    everySamples: 1,
    fields: [field('coolantTemperature', 1, 1, 1, -40), field('oilTemperature', 3, 2, 0.03125, -273)],
  },
  { priority: 6, pgn: 65266, everySamples: 1, fields: [field('fuelRate', 1, 2, 0.05, 0)] },
  {
    priority: 6,
    pgn: 65269,
    everySamples: 1,
    fields: [
      field('barometricPressure', 1, 1, 0.5, 0),
      field('ambientAirTemperature', 4, 2, 0.03125, -273),
      field('intakeAirTemperature', 6, 1, 1, -40),
    ],
  },
  { priority: 6, pgn: 65265, everySamples: 1, fields: [field('vehicleSpeed', 2, 2, 0.00390625, 0)] },
  { priority: 6, pgn: 65253, everySamples: 30, fields: [field('engineHours', 1, 4, 0.05, 0)] },
];

const HEX = Array.from({ length: 256 }, (_, value) => value.toString(16).toUpperCase().padStart(2, '0'));
/** Between two frames of one sample, microseconds: a busy bus at 250 kbit/s. */
const FRAME_GAP_US = 620;
/** Between packets of a broadcast: 50 to 200 ms by SAE J1939-21. */
const PACKET_GAP_US = 60_000;

/** Creates the writer of a truck's bus as recorded text: `(seconds.micro) can0 18FEF600#FFFFFFFFFFFFFFFF`. */
export function createCandumpText(plan: UnitPlan, form: CandumpForm): LogText {
  const indexed = MESSAGES.map((message) => ({
    ...message,
    id: frameId(message.priority, message.pgn, form.sourceAddress),
    sources: message.fields.map(({ key }) => plan.sensors.findIndex((fit) => fit.key === key)),
  }));
  const bytes = new Uint8Array(8);
  return {
    head: () => '',
    day: (day) => {
      const parts: string[] = [];
      for (let i = 0; i < day.count; i += 1) {
        let timeUs = (day.timesMs[i] as number) * 1000 + ((i * 7919) % 300);
        for (const message of indexed) {
          if (i % message.everySamples !== 0) continue;
          bytes.fill(0xff);
          message.fields.forEach((f, index) => {
            put(bytes, f, readingAt(day, message.sources[index] ?? -1, i));
          });
          parts.push(line(timeUs, form.interface, message.id, bytes));
          timeUs += FRAME_GAP_US;
        }
        if (i % 360 !== 17) continue;
        for (const frame of diagnosisFrames(form.sourceAddress, i)) {
          timeUs += PACKET_GAP_US;
          parts.push(line(timeUs, form.interface, frame.id, frame.bytes));
        }
      }
      return parts.join('');
    },
  };
}

function readingAt(day: UnitDay, column: number, i: number): number {
  return column < 0 ? Number.NaN : (day.columns[column]?.[i] ?? Number.NaN);
}

/** Puts a value in place; a sensor that is not fitted or gives nothing leaves its bytes at "not available". */
function put(bytes: Uint8Array, f: Field, value: number): void {
  if (Number.isNaN(value)) return;
  const top = f.bytes === 1 ? 0xfa : f.bytes === 2 ? 0xfaff : 0xfaffffff;
  let raw = Math.min(Math.max(Math.round((value - f.offset) / f.scale), 0), top);
  for (let i = 0; i < f.bytes; i += 1) {
    bytes[f.first - 1 + i] = raw & 0xff;
    raw = Math.floor(raw / 256);
  }
}

function line(timeUs: number, bus: string, id: string, bytes: Uint8Array): string {
  const seconds = Math.floor(timeUs / 1e6);
  const micro = String(Math.round(timeUs - seconds * 1e6)).padStart(6, '0');
  let data = '';
  for (let i = 0; i < 8; i += 1) data += HEX[bytes[i] as number] as string;
  return `(${seconds}.${micro}) ${bus} ${id}#${data}\n`;
}

function frameId(priority: number, pgn: number, source: number): string {
  return (priority * 0x4000000 + pgn * 0x100 + source).toString(16).toUpperCase().padStart(8, '0');
}

/**
 * Active trouble codes as the engine's own diagnosis sends them (SAE J1939-73 DM1): none most of the time, in one frame;
 * now and then two old electrical ones, by the transport protocol of SAE J1939-21 as broadcast announce and two packets.
 */
function diagnosisFrames(source: number, i: number): { id: string; bytes: Uint8Array }[] {
  if (i % 1080 !== 17)
    return [{ id: frameId(6, 65226, source), bytes: Uint8Array.of(0, 0xff, 0, 0, 0, 0, 0xff, 0xff) }];
  const codes = [...troubleCode(1569, 31, 1), ...troubleCode(168, 18, 2)];
  const payload = [0x04, 0xff, ...codes];
  const packets = Math.ceil(payload.length / 7);
  const announce = Uint8Array.of(0x20, payload.length, 0, packets, 0xff, 65226 & 0xff, (65226 >> 8) & 0xff, 0);
  return [
    { id: frameId(7, 60416 + 0xff, source), bytes: announce },
    ...Array.from({ length: packets }, (_, packet) => {
      const bytes = new Uint8Array(8).fill(0xff);
      bytes[0] = packet + 1;
      bytes.set(payload.slice(packet * 7, packet * 7 + 7), 1);
      return { id: frameId(7, 60160 + 0xff, source), bytes };
    }),
  ];
}

function troubleCode(spn: number, fmi: number, count: number): number[] {
  return [spn & 0xff, (spn >> 8) & 0xff, ((spn >> 16) << 5) | fmi, count];
}
