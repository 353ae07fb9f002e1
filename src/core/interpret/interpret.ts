import type { Entry } from '../entry.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { WORDS } from '../vocabulary/words.ts';
import { answerIn, commandIn, noteText } from './sentence/commands.ts';
import { compiled, type Compiled } from './sentence/compile.ts';
import { correctionIn, withSide, type Correction } from './sentence/correction.ts';
import { text, trimmed } from './words/edges.ts';
import type { Heard, InterpretContext, Interpreted } from './interpretation.ts';
import { judge } from './decide/judge.ts';
import { NOTE_CODE } from './note-code.ts';
import { normalise, type Token } from './words/normalise.ts';
import { read } from './sentence/read.ts';
import { startsNumber } from './values/numbers.ts';
import { applyRepairs, repairsFor } from './words/repair.ts';
import thresholds from './decide/thresholds.json';
import { asQuestion, weigh } from './decide/two-readings.ts';

/** What one reading means on its own. */
export function interpretReading(
  said: string,
  context: InterpretContext,
  vocabulary: Vocabulary,
): Interpreted {
  const words = compiled(vocabulary);
  const tokens = normalise(said, WORDS);
  if (tokens.length === 0) return { outcome: 'unrecognised', entries: [], confidence: 0 };
  const answer = context.asking ? answerIn(tokens, words) : undefined;
  if (answer) return { outcome: 'command', entries: [], command: { code: answer }, confidence: 1 };
  const command = commandIn(tokens, words, vocabulary);
  if (command) return { outcome: 'command', entries: [], command, confidence: 1 };
  const correction = correctionIn(tokens);
  if (correction) return correct(correction, context, words, vocabulary);
  const note = noteText(said);
  if (note) return { outcome: 'accept', entries: [{ code: NOTE_CODE, text: note }], confidence: 1 };
  const meaning = understand(tokens, words, vocabulary);
  if (context.measuredLoss && meaning.outcome === 'accept') {
    const open = withoutBasis(meaning, vocabulary);
    if (open) return open;
  }
  const asks =
    meaning.outcome === 'accept' &&
    ((context.tried === false && isEverydayNoEffect(tokens)) ||
      isMovedAway(tokens, meaning.entries) ||
      holdsHalfASide(tokens, words));
  return asks ? asQuestion(meaning, undefined, 0.5) : meaning;
}

/** A second amount of which nobody says whether it is all or more: asked, since the two may not be mixed. */
function withoutBasis(meaning: Interpreted, vocabulary: Vocabulary): Interpreted | undefined {
  const entries: Entry[] = meaning.entries;
  const at = entries.findIndex(
    (entry) =>
      entry.basis === undefined && vocabulary.codes.get(entry.code)?.requiredAgain?.includes('basis'),
  );
  if (at < 0) return undefined;
  const bare = entries[at]!;
  return {
    outcome: 'ask',
    problem: 'basis-missing',
    entries: entries.length > 1 ? entries.with(at, { ...bare, unclear: true }) : entries,
    alternatives: (['total', 'further'] as const).map((basis) => ({
      entries: entries.with(at, { ...bare, basis }),
    })),
    ...(meaning.when ? { when: meaning.when } : {}),
    confidence: 0.5,
  };
}

/** "Off the table": moved from there, which is no move to it. "Off to" is one. */
const isMovedAway = (tokens: readonly Token[], entries: readonly Entry[]): boolean =>
  entries.some(({ to }) => to !== undefined) &&
  tokens.some(({ word }, at) => word === 'off' && tokens[at + 1]?.word !== 'to');

/** A word one letter away from a side, which no wording of ours knows: the side was said and not caught. */
const holdsHalfASide = (tokens: readonly Token[], { known }: Compiled): boolean =>
  tokens.some(
    ({ word }) =>
      !known.has(word) &&
      !WORDS.light.has(word) &&
      !startsNumber(word) &&
      SIDES.some((side) => isOneLetterOff(word, side)),
  );

const SIDES = ['left', 'right'] as const;

/** Whether one letter was exchanged, left out or put in. */
function isOneLetterOff(word: string, meant: string): boolean {
  if (word === meant || Math.abs(word.length - meant.length) > 1) return false;
  let at = 0;
  while (at < word.length && word[at] === meant[at]) at += 1;
  const rest = (text: string, from: number) => text.slice(from);
  return (
    rest(word, at + 1) === rest(meant, at + 1) ||
    rest(word, at) === rest(meant, at + 1) ||
    rest(word, at + 1) === rest(meant, at)
  );
}

/** "Nothing", "no good": of what, where no manoeuvre was tried? */
const isEverydayNoEffect = (tokens: readonly Token[]): boolean =>
  [...trimmed(tokens)].some((part) => WORDS.everydayNoEffect.has(text(part)));

/** Reads the words as they are and, where some stay unexplained, once more with misheard trade words mended. */
function understand(tokens: readonly Token[], words: Compiled, vocabulary: Vocabulary): Interpreted {
  const sense = read(tokens, words, vocabulary);
  const plain = judge(sense);
  if (plain.outcome === 'accept') return plain;
  const unknown = new Set(sense.unexplained);
  const repairs =
    unknown.size > 0 && unknown.size <= thresholds.repairMostUnknown
      ? repairsFor(tokens, unknown, words, vocabulary)
      : [];
  if (repairs.length === 0) return plain;
  const mendedSense = read(applyRepairs(tokens, repairs), words, vocabulary);
  const mended = judge(mendedSense);
  // Talk holds words that sound like ours: what stays unexplained after mending speaks against it.
  if (mended.outcome === 'unrecognised' || mendedSense.unknown > 1) return plain;
  const vague = mended.outcome === 'ask' && /^(unclear|unit-missing|drug-missing)$/.test(mended.problem);
  if (plain.outcome === 'unrecognised' && vague) return plain;
  if (plain.outcome === 'unrecognised' && repairs.every(({ everyday }) => everyday) && tokens.length > 3)
    return plain;
  const confidence = 1 - Math.max(...repairs.map((repair) => repair.cost));
  if (mended.outcome === 'accept' && repairs.some((repair) => repair.doubtful)) {
    return {
      outcome: 'ask',
      entries: mended.entries,
      problem: 'unclear',
      ...(mended.when ? { when: mended.when } : {}),
      confidence: confidence / 2,
    };
  }
  return { ...mended, confidence: Math.min(mended.confidence, confidence) };
}

function correct(
  correction: Correction,
  context: InterpretContext,
  words: Compiled,
  vocabulary: Vocabulary,
): Interpreted {
  const command = { code: 'correct' } as const;
  const as = (entries: Entry[]): Interpreted => ({ outcome: 'command', entries, command, confidence: 1 });
  if (correction.side) {
    const entry = context.last && withSide(context.last, correction.side);
    return as(entry ? [entry] : []);
  }
  if (correction.replacement.length === 0) return as([]);
  const meaning = understand(correction.replacement, words, vocabulary);
  if (meaning.outcome === 'accept')
    return { ...as(meaning.entries), ...(meaning.when ? { when: meaning.when } : {}) };
  // What replaces the entry is itself a question: ask first, and nothing is struck out until it is answered.
  if (meaning.outcome === 'ask') return { ...meaning, command };
  return { outcome: 'unrecognised', entries: [], confidence: 0 };
}

/**
 * Turns what was heard into entries, a question, a command, or nothing.
 * Pure: the same words and context always mean the same. Never throws on any text.
 * @returns the meaning and `confidence` from 0 to 1 (how sure the reading is, not how right the speaker).
 */
export function interpret(heard: Heard, context: InterpretContext, vocabulary: Vocabulary): Interpreted {
  return weigh(heard, (said) => interpretReading(said, context, vocabulary));
}
