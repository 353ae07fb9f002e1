import type { Entry } from '../../entry.ts';
import { EDGE, text, trimmed } from '../words/edges.ts';
import type { Token } from '../words/normalise.ts';

/** The replacement's words of a correction, with the words that were wrong left out; undefined where it is none. */
export interface Correction {
  replacement: readonly Token[];
  /** "no, the left": only a side, for the entry before. */
  side?: 'left' | 'right' | 'other';
}

const CORRECTION_STARTS = [
  'correction it was',
  'correction that was',
  'correction it is',
  'correction',
  'correct that to',
  'correct it to',
  'correct to',
  'correct that',
  'correct last entry',
  'correct last',
  'correct the last entry to',
  'correct the last entry',
  'change that to',
  'change it to',
  'change the last entry to',
  'change last entry to',
  'amend that to',
  'amend to',
  'amend that',
  'make that',
  'that should be',
  'it should be',
  'should be',
  'should have been',
  'that should have been',
  'it should have been',
  'should read',
  'i meant to say',
  'i meant',
  'i mean',
  'no i meant',
  'no i said',
  'no i mean',
  'sorry i meant',
  'sorry i mean',
  'no sorry',
  'sorry no',
  'scratch that it was',
  'scratch that',
  'no it was',
  'no that was',
  'no it is',
  "no it's",
  "no that's",
  'rather i mean',
  'edit that to',
  'replace that with',
  'replace with',
  'let me correct that',
  'fix that to',
  'fix that',
  'undo that',
  'cancel that',
  'no correction',
  'sorry correction',
  'wrong it was',
  'wrong that was',
  "that's wrong it was",
  'that was wrong it was',
  "that's not right it was",
]
  .map((phrase) => phrase.split(' '))
  .sort((a, b) => b.length - a.length);

const BARE = new Set([
  'correct that',
  'that was wrong',
  "that's wrong",
  'correction please',
  'make a correction',
  'correct the last entry',
  'correct last entry',
  'correct last',
  'that is wrong',
  'wrong entry',
  "that's not right",
  'fix that',
  'edit that',
  'amend that',
  'change that',
  "that's incorrect",
  'that entry is wrong',
  'let me correct that',
  'i need to correct that',
  'correction',
  'the last entry is wrong',
  'last entry wrong',
  'last entry is wrong',
  'the last one is wrong',
  'correct the last one',
  'i made a mistake',
  'mistake',
]);

export function correctionIn(tokens: readonly Token[]): Correction | undefined {
  for (const part of trimmed(tokens)) if (BARE.has(text(part))) return { replacement: [] };
  const lead = tokens.findIndex((token) => !EDGE.has(token.word) || token.word === 'sorry');
  const rest = tokens.slice(Math.max(lead, 0));
  const side = onlySide(rest);
  if (side) return { replacement: [], side };
  const start = CORRECTION_STARTS.find(
    (words) => words.every((word, offset) => rest[offset]?.word === word) && rest.length > words.length,
  );
  // "change it to rocking" says how the pressure goes on, and nothing of what was logged.
  const goesOn =
    start !== undefined && rest.slice(start.length).every(({ word }) => ON_STYLE.has(word) || EDGE.has(word));
  if (start && !goesOn) {
    const named = sideIn(rest.slice(start.length));
    return named
      ? { replacement: [], side: named }
      : { replacement: withoutDenied(rest.slice(start.length)) };
  }
  // "that was posterior arm, not anterior": said of what is already logged.
  if (/^(that|it|this|that's|it's)$/.test(rest[0]?.word ?? '')) {
    const from = rest[1]?.word === 'was' || rest[1]?.word === 'is' ? 2 : 1;
    const not = rest.findIndex((token, index) => index > from && token.word === 'not');
    const wasSaid = rest[1]?.word === 'was';
    const named = wasSaid && not > from ? sideIn(rest.slice(from)) : undefined;
    if (named) return { replacement: [], side: named };
    if (wasSaid && not > from && not < rest.length - 1) return { replacement: rest.slice(from, not) };
  }
  return undefined;
}

const ON_STYLE = new Set(['rocking', 'continuous', 'constant', 'intermittent', 'pressure', 'now', 'please']);

function withoutDenied(tokens: readonly Token[]): readonly Token[] {
  const not = tokens.findIndex((token, index) => index > 0 && token.word === 'not');
  return not > 0 ? tokens.slice(0, not) : tokens;
}

/** "no, the left", "sorry, from the right". */
const onlySide = (tokens: readonly Token[]): Correction['side'] =>
  /^(no|sorry|not|wait)$/.test(tokens[0]?.word ?? '')
    ? sideIn(tokens[0]!.word === 'not' ? tokens : tokens.slice(1))
    : undefined;

const AROUND_SIDE =
  /^(the|from|on|to|i|meant|mean|said|sorry|it's|it|was|is|that|that's|side|mum|'s|maternal|her|no|one|mother|please|make|actually|should|be)$/;

/** A side and nothing else, perhaps with the wrong one denied: "the left, not the right", "not left, right". */
function sideIn(tokens: readonly Token[]): Correction['side'] {
  const words = tokens.map(({ word }) => word).filter((word) => !AROUND_SIDE.test(word));
  const isSide = (word: string | undefined): word is 'left' | 'right' => word === 'left' || word === 'right';
  const [one, two, three] = words;
  if (words.length === 1 && one === 'other') return 'other';
  if (words.length === 1 && isSide(one)) return one;
  if (words.length === 3 && isSide(one) && two === 'not' && isSide(three) && one !== three) return one;
  if (words.length === 3 && one === 'not' && isSide(two) && isSide(three) && two !== three) return three;
  return undefined;
}

/** The last entry with its side replaced, for "no, the left". */
export function withSide(last: Entry, named: 'left' | 'right' | 'other'): Entry | undefined {
  const before = last.side ?? last.babySide;
  if (before === undefined || before === 'both') return undefined;
  const side = named === 'other' ? (before === 'left' ? 'right' : 'left') : named;
  return last.side ? { ...last, side } : { ...last, babySide: side };
}
