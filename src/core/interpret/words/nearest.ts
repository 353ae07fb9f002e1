import { sameNumbers } from '../decide/critical.ts';
import type { Token } from './normalise.ts';
import { ADDED, insteadOf, mayBeDropped } from '../decide/rivals.ts';
import { soundCost, soundOf } from './sound.ts';
import thresholds from '../decide/thresholds.json';

/** The same words with one critical word exchanged, left out or put in. */
export function rivalWordings(words: readonly string[]): string[][] {
  const rivals: string[][] = [];
  words.forEach((word, at) => {
    for (const other of insteadOf(word)) rivals.push(words.with(at, other));
    if (mayBeDropped(word)) rivals.push(words.toSpliced(at, 1));
  });
  for (const word of ADDED) {
    if (!words.includes(word)) rivals.push([word, ...words]);
  }
  return rivals;
}

/**
 * How far the heard sound lies from these words, in edits (weighted by what is confused), not divided by length.
 * Beyond `most` edits it is not counted out: the answer is then as many as there are signs.
 */
function edits(heard: string, words: readonly string[], most = Infinity): { cost: number; share: number } {
  const meant = soundOf(words.join(''));
  const longest = Math.max(heard.length, meant.length);
  const share = soundCost(heard, meant, most / longest);
  return { cost: share * longest, share };
}

/** "Head in" beside "hand in": the other word itself, no spelling of ours. */
function holdsRivalPlainly(tuned: readonly Token[], untouched: readonly Token[]): boolean {
  const ours = new Set(tuned.map(({ word }) => word));
  return untouched.some(({ word }) => !ours.has(word) && insteadOf(word).some((rival) => ours.has(rival)));
}

/**
 * Whether the untouched reading, as sound, is near the tuned words and clearly nearer to them than to every rival
 * wording that means something else: then it heard the same, and spelt it in its own way.
 * `otherwise`: whether a wording means anything other than the tuned one does.
 */
export function nearestIsTuned(
  tuned: readonly Token[],
  untouched: readonly Token[],
  otherwise: (text: string) => boolean,
): boolean {
  // A number, a negation and a letter ("three b") are the same or they are not: sound settles nothing there.
  if (!sameNumbers(tuned, untouched) || tuned.some(({ word }) => /^[b-z]$/.test(word))) return false;
  if (holdsRivalPlainly(tuned, untouched)) return false;
  const heard = soundOf(untouched.map(({ word }) => word).join(''));
  const words = tuned.map(({ word }) => word);
  const own = edits(heard, words);
  if (own.share > thresholds.nearestShare) return false;
  const most = own.cost + thresholds.nearestMarginEdits;
  return rivalWordings(words)
    .filter((rival) => edits(heard, rival, most).cost < most)
    .every((rival) => !otherwise(rival.join(' ')));
}
