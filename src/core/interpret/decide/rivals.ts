import data from './rivals.json';

/**
 * What else could have been said at a place in a line of words. `instead`: in place of the word there; `added`: a word
 * more before it; `dropped`: nothing there (no words given). `at` counts words from 0; the number of words stands for
 * the end.
 */
export interface Rivals {
  at: number;
  kind: 'instead' | 'added' | 'dropped';
  words: readonly string[];
}

const setsOf = new Map<string, string[]>();
for (const set of [...data.instead, ...data.lookAlikes, ...data.insteadOfTradeWords])
  for (const word of set)
    setsOf.set(word, [...(setsOf.get(word) ?? []), ...set.filter((other) => other !== word)]);

const NUMBERS = new Set(data.numbers);
const DROPPED = new Set(data.dropped);
const NOUGHTS = new Set(data.noughts);

/** The words of the same set, empty for a word on which nothing turns. Numbers have sets of their own. */
export const insteadOf = (word: string): readonly string[] => setsOf.get(word) ?? [];

const otherNumbers = (word: string): string[] =>
  data.numbers.filter((other) => other !== word && !(NOUGHTS.has(word) && NOUGHTS.has(other)));

const TRADE = new Set(data.tradeWords);

/** Is it a word that the untouched decoder has hardly met, so that it prefers the rival in any sound? */
export const isTradeWord = (word: string): boolean => TRADE.has(word);

/** Words alike in sound alone: no opposites, and no two parts of one body. */
export const areLookAlikes = (one: string, other: string): boolean =>
  data.lookAlikes.some((set) => set.includes(one) && set.includes(other));

/** A word that habit may put where nobody said it, and whose absence says something else. */
export const mayBeDropped = (word: string): boolean => DROPPED.has(word) || NUMBERS.has(word);

/** Words that turn the meaning by standing there at all. */
export const ADDED: readonly string[] = data.added;

/** Every word that can be a rival: what a recogniser must be able to spell. */
export const ALL_RIVALS: readonly string[] = [
  ...new Set([...setsOf.keys(), ...data.numbers, ...data.added, ...data.addedAtEnd]),
];

/** All rivals at every place of a line of lower-case words. */
export function rivalsIn(words: readonly string[]): Rivals[] {
  const found: Rivals[] = [];
  for (let at = 0; at <= words.length; at++) {
    const word = words[at];
    const instead = word === undefined ? [] : NUMBERS.has(word) ? otherNumbers(word) : insteadOf(word);
    if (instead.length > 0) found.push({ at, kind: 'instead', words: instead });
    if (word !== undefined && mayBeDropped(word)) found.push({ at, kind: 'dropped', words: [] });
    const more = new Set(word === undefined ? [...ADDED, ...data.addedAtEnd] : ADDED);
    const before = words[at - 1];
    // A digit said twice, or one more behind the last, is easily lost.
    if (before !== undefined && NUMBERS.has(before) && !(word !== undefined && NUMBERS.has(word)))
      for (const number of data.numbers) more.add(number);
    if (word !== undefined) more.delete(word);
    found.push({ at, kind: 'added', words: [...more].filter((rival) => !instead.includes(rival)) });
  }
  return found;
}
