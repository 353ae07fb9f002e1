import type { Entry } from '../entry.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import type { Compiled } from './compile.ts';
import type { Command } from './interpretation.ts';
import type { Token } from './normalise.ts';
import { read } from './read.ts';

const EDGE = new Set([
  'okay',
  'ok',
  'so',
  'please',
  'now',
  'right',
  'um',
  'uh',
  'er',
  'well',
  'then',
  'and',
  'everyone',
  'hey',
  'just',
  'erm',
  'thanks',
  'oh',
  'alright',
  'sorry',
  'there',
  'log',
  'actually',
  'team',
  'guys',
  'quick',
  'quickly',
]);

const text = (tokens: readonly Token[]): string => tokens.map((token) => token.word).join(' ');

/** The utterance without fillers at its ends, tried from the whole to the shortest. */
function* trimmed(tokens: readonly Token[]): Generator<readonly Token[]> {
  let from = 0;
  while (true) {
    let to = tokens.length;
    while (to > from) {
      yield tokens.slice(from, to);
      if (!EDGE.has(tokens[to - 1]!.word)) break;
      to -= 1;
    }
    if (from >= tokens.length || !EDGE.has(tokens[from]!.word)) return;
    from += 1;
  }
}

/** A bare answer or an explicit confirm or reject. */
export function answerIn(tokens: readonly Token[], compiled: Compiled): 'confirm' | 'reject' | undefined {
  for (const part of trimmed(tokens)) {
    const answer = compiled.answers.get(text(part));
    if (answer) return answer;
  }
  return undefined;
}

export function commandIn(
  tokens: readonly Token[],
  compiled: Compiled,
  vocabulary: Vocabulary,
): Command | undefined {
  for (const part of trimmed(tokens)) {
    const code = compiled.commands.get(text(part));
    if (code) return { code };
  }
  return elapsedIn(tokens, compiled, vocabulary) ?? undoIn(tokens, compiled, vocabulary);
}

const ELAPSED =
  /^(?:how long|how many minutes|how many seconds|how much time|time elapsed|elapsed time|elapsed|time check|minutes since|time since|how far in|what's the elapsed|what is the elapsed|what's the time since|what is the time since|give me the time since|tell me how long|duration|interval|total time|running time|what's the interval|how old|seconds since|give me elapsed|say elapsed|time from|what time has passed)\b/;
const NO_ELAPSED =
  /\b(?:until|till|will|take|before|to go|does it|should|would|can|could|cord|left|wait|did you|do you|hold)\b/;
const NOUNS: [RegExp, string][] = [
  [/\b(?:head|vertex)\b/, 'head-delivered'],
  [/\b(?:dystocia|declaration|declared|declaring|called it)\b/, 'dystocia-declared'],
  [/\b(?:help|bell|buzzer|emergency call)\b/, 'help-called'],
  [/\b(?:body|baby|birth|delivery|born)\b/, 'body-delivered'],
];

/** "how long since the head", "time since McRoberts", "how long have we been going". */
function elapsedIn(
  tokens: readonly Token[],
  compiled: Compiled,
  vocabulary: Vocabulary,
): Command | undefined {
  const start = tokens.findIndex((token) => !EDGE.has(token.word));
  const words = text(tokens.slice(Math.max(start, 0)));
  if (!ELAPSED.test(words)) return undefined;
  const about = words.replace(ELAPSED, '').trim();
  if (NO_ELAPSED.test(about)) return undefined;
  const plain = about
    .replace(
      /\b(?:please|now|is it|has it been|it's been|it been|so far|are we at|are we|have we been|at this|going|we|has|have|it|been|is|the|since|passed|gone by|gone|that|in|for|'s|of|time|was|then|elapsed|total|everyone|ago|a|on|out|up|do we have|got)\b/g,
      '',
    )
    .trim();
  if (plain === '') return aboutCode(about);
  const named = firstCode(tokens, compiled, vocabulary);
  const noun = NOUNS.find(([pattern]) => pattern.test(about))?.[1];
  const since = named ?? noun;
  return since ? { code: 'elapsed', since } : undefined;
}

function aboutCode(about: string): Command {
  const noun = NOUNS.find(([pattern]) => pattern.test(about))?.[1];
  return noun ? { code: 'elapsed', since: noun } : { code: 'elapsed' };
}

/** The code of the first call-out named in the words, whatever stands around it. */
function firstCode(tokens: readonly Token[], compiled: Compiled, vocabulary: Vocabulary): string | undefined {
  const since = tokens.findIndex((token) => token.word === 'since');
  const from =
    since >= 0
      ? since + 1
      : tokens.findIndex((token) => token.word === 'long' || token.word === 'time' || token.word === 'much') +
        1;
  const { chunks } = read(tokens.slice(from), compiled, vocabulary);
  for (const chunk of chunks) {
    if (chunk.kind === 'anchor' && chunk.meaning.kind === 'code' && chunk.meaning.code !== 'no-effect')
      return chunk.meaning.code;
    if (chunk.kind === 'measured') return chunk.measured.entries[0]?.code;
  }
  return undefined;
}

const UNDO_VERBS = [
  ['undo'],
  ['delete'],
  ['strike', 'out'],
  ['strike'],
  ['scratch'],
  ['erase'],
  ['scrap'],
  ['take', 'out'],
  ['wipe'],
  ['disregard'],
  ['ignore'],
  ['void'],
  ['cancel'],
  ['remove'],
  ['get', 'rid', 'of'],
  ['rub', 'out'],
  ['cross', 'out'],
];
const NEEDS_ENTRY = new Set(['cancel', 'remove', 'take', 'ignore', 'get']);

/** "strike out the episiotomy", "undo McRoberts", "remove the Apgar entry". */
function undoIn(tokens: readonly Token[], compiled: Compiled, vocabulary: Vocabulary): Command | undefined {
  const start = Math.max(
    0,
    tokens.findIndex((token) => !EDGE.has(token.word)),
  );
  const verb = UNDO_VERBS.find((words) =>
    words.every((word, offset) => tokens[start + offset]?.word === word),
  );
  if (!verb) return undefined;
  const rest = tokens
    .slice(start + verb.length)
    .filter(
      (token) =>
        !/^(the|that|last|entry|please|out|from|log|one|about|of|record|off|entries|call|latest|previous|bit)$/.test(
          token.word,
        ),
    );
  const says = tokens.some((token) => /^(entry|log|record)$/.test(token.word));
  if (NEEDS_ENTRY.has(verb[0]!) && !says) return undefined;
  if (rest.length === 0) return says ? { code: 'undo' } : undefined;
  const sense = read(rest, compiled, vocabulary);
  const codes = new Set(sense.calls.flatMap((call) => call.entries.map((entry) => entry.code)));
  if (sense.unknown > 0) return undefined;
  const named = codes.size === 1 ? [...codes][0] : NOUNS.find(([pattern]) => pattern.test(text(rest)))?.[1];
  return named ? { code: 'undo', target: named } : undefined;
}

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
  if (start) {
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

/** Words after "note …", as written; undefined where it is no note. */
export function noteText(heard: string): string | undefined {
  const match =
    /^\W*(?:(?:okay|ok|so|right|and|please)\W+)*(?:(?:make|take|add|write)\s+a\s+|add\s+|free\s+)?note\b(?!\s+taker)[:,.]?\s*(?:that\b[:,]?)?\s*(.*)$/i.exec(
      heard.trim(),
    );
  const words = match?.[1]?.trim().replace(/[.]$/, '');
  return words ? words : undefined;
}
