import { describe, expect, test } from 'vitest';
import { NIGHT_LUMINANCE_MAX, PALETTES, type Palette } from './palette.ts';

/** Relative luminance of a colour: WCAG 2.2, definition of "relative luminance". */
function luminance(colour: string): number {
  const [red = 0, green = 0, blue = 0] = [1, 3, 5].map((at) => {
    const channel = Number.parseInt(colour.slice(at, at + 2), 16) / 255;
    return channel <= 0.04045 ? channel / 12.92 : ((channel + 0.055) / 1.055) ** 2.4;
  });
  return 0.2126 * red + 0.7152 * green + 0.0722 * blue;
}

/** Contrast ratio: WCAG 2.2, definition of "contrast ratio". */
function contrast(a: string, b: string): number {
  const [low = 0, high = 0] = [luminance(a), luminance(b)].sort((x, y) => x - y);
  return (high + 0.05) / (low + 0.05);
}

test('black on white has the contrast 21 that WCAG 2.2 gives', () => {
  expect(contrast('#000000', '#ffffff')).toBeCloseTo(21, 5);
});

describe.each(Object.entries<Palette>(PALETTES))('%s', (name, palette) => {
  // WCAG 2.2, success criterion 1.4.3: text 4.5 to 1.
  test.each([
    ['ink', 'ground'],
    ['ink', 'panel'],
    ['muted', 'ground'],
    ['muted', 'panel'],
    ['link', 'ground'],
    ['link', 'panel'],
    ['buttonInk', 'button'],
    ['ink', 'since'],
  ] as const)('text in %s on %s can be read', (text, ground) => {
    expect(contrast(palette[text], palette[ground])).toBeGreaterThanOrEqual(4.5);
  });

  // WCAG 2.2, success criterion 1.4.11: parts of controls and drawings 3 to 1.
  test.each([
    ['control', 'ground'],
    ['red', 'ground'],
    ['green', 'ground'],
    ['blue', 'ground'],
    ['bandEdge', 'ground'],
    ['ink', 'band'],
  ] as const)('%s stands out on %s', (part, ground) => {
    expect(contrast(palette[part], palette[ground])).toBeGreaterThanOrEqual(3);
  });

  test('the sign inside a shape stands out from it', () => {
    for (const body of ['yellow', 'white'] as const)
      expect(contrast(palette.shapeInk, palette[body])).toBeGreaterThanOrEqual(3);
    for (const body of ['red', 'green'] as const)
      expect(contrast(palette.ground, palette[body])).toBeGreaterThanOrEqual(3);
  });

  if (name === 'night') {
    test('no colour is bright, and blue light is the least part of every text', () => {
      for (const colour of Object.values(palette)) expect(luminance(colour)).toBeLessThanOrEqual(NIGHT_LUMINANCE_MAX);
      for (const colour of [palette.ink, palette.muted, palette.link, palette.buttonInk]) {
        expect(Number.parseInt(colour.slice(5), 16)).toBeLessThan(Number.parseInt(colour.slice(1, 3), 16) / 2);
      }
    });
  }
});
