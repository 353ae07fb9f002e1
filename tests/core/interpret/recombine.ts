import type { Vocabulary } from '../../../src/core/vocabulary/vocabulary.ts';

const NUMBERS =
  'one two three four five seven nine ten twelve fourteen thirty fifty hundred thousand point oh nought double minus plus half a quarter and'.split(
    ' ',
  );
const FILLERS =
  'um okay so the please now and sorry no not actually if can we is at ago minutes seconds left right arterial venous kilos grams litres mils at by of from with then wait correction undo'.split(
    ' ',
  );

/** A number from 0 up to but not including `below`, the same order for the same seed (linear congruential). */
export function randomFrom(seed: number): (below: number) => number {
  let state = seed >>> 0;
  return (below) => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return Math.floor((state / 2 ** 32) * below);
  };
}

/** Utterances of 1 to 12 pieces: whole phrases, single words of the vocabulary, numbers, fillers, in any order. */
export function recombinations(vocabulary: Vocabulary, count: number, seed: number): string[] {
  const phrases = [...vocabulary.phrases.values()]
    .flat()
    .flatMap(({ say }) => say)
    .map((phrase) => phrase.replace('{role}', 'anaesthetist'));
  const words = [...new Set(phrases.join(' ').split(' '))];
  const random = randomFrom(seed);
  const one = (list: readonly string[]): string => list[random(list.length)]!;
  const piece = (): string => {
    const kind = random(10);
    return one(kind < 2 ? phrases : kind < 5 ? words : kind < 7 ? NUMBERS : FILLERS);
  };
  return Array.from({ length: count }, () => Array.from({ length: 1 + random(12) }, piece).join(' '));
}
