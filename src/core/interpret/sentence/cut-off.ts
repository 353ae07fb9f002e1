import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { sideSlot } from '../values/sides.ts';
import type { Token } from '../words/normalise.ts';
import { single, type Call } from './calls.ts';
import data from './cut-off.json';

type Awaits = 'side' | 'time' | 'value' | 'more';

const TAILS = (Object.entries(data.tails) as [Awaits, string[]][])
  .flatMap(([awaits, tails]) => tails.map((tail) => ({ awaits, words: tail.split(' ') })))
  .sort((a, b) => b.words.length - a.words.length);

/** What the last words of an utterance wait for, where they cannot be its end: "suprapubic pressure from the". */
export function cutOff(tokens: readonly Token[]): Awaits | undefined {
  return TAILS.find(
    ({ words }) =>
      words.length < tokens.length &&
      words.every((word, offset) => tokens[tokens.length - words.length + offset]!.word === word),
  )?.awaits;
}

/** Marks the call that broke off. @returns true where a time was about to be said. */
export function markCutOff(
  tokens: readonly Token[],
  calls: readonly Call[],
  vocabulary: Vocabulary,
): boolean {
  const awaits = cutOff(tokens);
  const last = calls.findLast((call) => !call.voided);
  if (!awaits || !last) return false;
  if (awaits === 'time') return true;
  const entry = single(last);
  const slot = sideSlot(last, vocabulary);
  if (awaits === 'side' && entry && slot && entry[slot] === undefined) {
    last.problem ??= 'side-missing';
    last.alternatives ??= (['left', 'right'] as const).map((side) => [{ ...entry, [slot]: side }]);
  } else last.problem ??= awaits === 'value' ? 'value-missing' : 'unclear';
  return false;
}
