import { expect, test } from 'vitest';
import { closestWord } from './closest-word.ts';

test('a word with one wrong letter is recognised', () => {
  expect(closestWord({ word: 'oilPresure', known: ['oilTemperature', 'oilPressure'] })).toBe('oilPressure');
});

test('two swapped letters are one slip', () => {
  expect(closestWord({ word: 'raod', known: ['vessel', 'road'] })).toBe('road');
});

test('case, hyphens and underscores do not matter', () => {
  expect(closestWord({ word: 'Air-To-Air', known: ['seawater', 'air_to_air'] })).toBe('air_to_air');
});

test('a word that resembles nothing has no closest word', () => {
  expect(closestWord({ word: 'xyzzy', known: ['engine', 'limits'] })).toBeUndefined();
});

test('without known words there is no closest word', () => {
  expect(closestWord({ word: 'engine', known: [] })).toBeUndefined();
});
