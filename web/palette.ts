/** The colours that a page is drawn with, by what they are for. */
export type Palette = {
  readonly ground: string;
  readonly panel: string;
  readonly ink: string;
  readonly muted: string;
  readonly rule: string;
  readonly control: string;
  readonly link: string;
  readonly button: string;
  readonly buttonInk: string;
  readonly red: string;
  readonly yellow: string;
  readonly green: string;
  readonly blue: string;
  readonly white: string;
  readonly shapeInk: string;
  readonly band: string;
  readonly bandEdge: string;
  readonly since: string;
};

/** Highest relative luminance of any colour of the night set; a white page has 1. */
export const NIGHT_LUMINANCE_MAX = 0.3;

/** For daylight: near-black on white. */
const day: Palette = {
  ground: '#ffffff',
  panel: '#f3f4f1',
  ink: '#101518',
  muted: '#474f55',
  rule: '#c3c8c6',
  control: '#6b7379',
  link: '#00506e',
  button: '#0b3c4f',
  buttonInk: '#ffffff',
  red: '#c8102e',
  yellow: '#ffcf1a',
  green: '#1d8544',
  blue: '#0b62b8',
  white: '#ffffff',
  shapeInk: '#101518',
  band: '#cfe0e2',
  bandEdge: '#4c7f88',
  since: '#f8ecd4',
};

/** For dim rooms. */
const dark: Palette = {
  ground: '#12171a',
  panel: '#1b2226',
  ink: '#ebe9e3',
  muted: '#b0b6b9',
  rule: '#3a4449',
  control: '#8a949a',
  link: '#8fd0e6',
  button: '#9bd5e6',
  buttonInk: '#0c1417',
  red: '#ff7464',
  yellow: '#ffd34d',
  green: '#66c985',
  blue: '#7db8ff',
  white: '#ebe9e3',
  shapeInk: '#12171a',
  band: '#29434a',
  bandEdge: '#7fb0b9',
  since: '#2b271b',
};

/**
 * For a dark bridge or engine-room corner. IEC 62288 asks displays there for a night set on a dark ground that spares
 * dark-adapted eyes. Luminance costs adaptation most and short wavelengths cost more than long ones, so everything is
 * dim amber on black: no white, next to no blue. It is not all red, as darkrooms are: red must stay the danger colour
 * of IEC 60073, told from yellow and green by hue and shape. Every colour stays under {@link NIGHT_LUMINANCE_MAX} and
 * text keeps the contrast of WCAG 2.2, so the screen can be dimmed further without losing words.
 */
const night: Palette = {
  ground: '#000000',
  panel: '#0d0703',
  ink: '#bd884a',
  muted: '#a37541',
  rule: '#3d2810',
  control: '#8a6233',
  link: '#bd8b45',
  button: '#2b1a06',
  buttonInk: '#bd8b4a',
  red: '#e0442e',
  yellow: '#a88712',
  green: '#5f8f3a',
  blue: '#6a7fa0',
  white: '#9c7a52',
  shapeInk: '#000000',
  band: '#26190b',
  bandEdge: '#8a6233',
  since: '#190d04',
};

/** The colour sets by name. `auto` on a page means day or dark, as the system asks. */
export const PALETTES = { day, dark, night } as const;

/** A palette as the custom properties of a style sheet. */
export function paletteProperties(palette: Palette): string {
  return Object.entries(palette)
    .map(([name, colour]) => `--${name.replaceAll(/[A-Z]/g, (letter) => `-${letter.toLowerCase()}`)}:${colour}`)
    .join(';');
}
