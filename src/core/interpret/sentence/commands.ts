import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import type { Compiled } from './compile.ts';
import { EDGE, text, trimmed } from '../words/edges.ts';
import { elapsedIn, NOUNS } from '../values/elapsed.ts';
import type { Command } from '../interpretation.ts';
import type { Token } from '../words/normalise.ts';
import { read } from './read.ts';

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

/** Words after "note …", as written; undefined where it is no note. */
export function noteText(heard: string): string | undefined {
  const match =
    /^\W*(?:(?:okay|ok|so|right|and|please)\W+)*(?:(?:make|take|add|write)\s+a\s+|add\s+|free\s+)?note\b(?!\s+taker)[:,.]?\s*(?:that\b[:,]?)?\s*(.*)$/i.exec(
      heard.trim(),
    );
  const words = match?.[1]?.trim().replace(/[.]$/, '');
  return words ? words : undefined;
}
