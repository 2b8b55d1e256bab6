/** One stretch of work with steady aims, such as a climb or a crossing. Ranges are drawn anew each time. */
export type Phase = {
  readonly name: string;
  readonly minutes: readonly [number, number];
  /** Share of rated speed. Left out, the engine idles. */
  readonly speedShare?: readonly [number, number];
  /** Share of the largest torque at that speed; below 0, overrun with the fuel cut. */
  readonly load: readonly [number, number];
  /** Standard deviation of the load about its aim; drawn per phase, for some stretches are smoother than others. */
  readonly loadSd: readonly [number, number];
  readonly kmh?: readonly [number, number];
  /** Height gained, m/min. */
  readonly climb?: number;
  /** Relative frequency where phases come at random. */
  readonly weight?: number;
};

/** What a unit does: when it works and which phases follow one another. */
export type Duty = {
  /** At random by weight, or one after the other round and round. */
  readonly order: 'random' | 'cycle';
  readonly phases: readonly Phase[];
  /** Working stretches of a day: start (hours UTC) and length (hours); on Sundays and Saturdays perhaps none. */
  readonly shifts: readonly { readonly startHour: number; readonly hours: number }[];
  readonly saturday: boolean;
  readonly sunday: boolean;
  /** How fast load and speed follow their aims, s, and how long load swings last. */
  readonly rampS: number;
  readonly swingS: number;
  /** Standard deviation of speed, rpm. */
  readonly speedSd: number;
};
