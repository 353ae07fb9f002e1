import type { Heard, Interpreted } from '../interpretation.ts';
import data from './rivals.json';
import thresholds from './thresholds.json';
import { asQuestion, saysSame, type ReadAlone } from './two-readings.ts';

/** Lower-case words without marks, as the doubts count them. */
const wordsIn = (text: string): string[] =>
  text
    .trim()
    .split(/\s+/)
    .map((word) => word.toLowerCase().replace(/[^a-z']/g, ''));

const isPair = (pairs: readonly (readonly string[])[], one: string, other: string): boolean =>
  one !== other && pairs.some((pair) => pair.includes(one) && pair.includes(other));

/** Wordings with the opposite in one place, where the sound hardly tells which was said by either decoder. */
function nearOpposites({ tuned, doubts = [] }: Heard): string[] {
  const words = wordsIn(tuned.text);
  return doubts.flatMap(({ at, kind, rival, tunedNats, untouchedNats }) => {
    const own = words[at];
    if (kind !== 'instead' || own === undefined) return [];
    const limit = isPair(data.opposites, own, rival)
      ? thresholds.oppositeNats
      : isPair(data.teens, own, rival)
        ? thresholds.teensNats
        : -Infinity;
    return Math.min(tunedNats, untouchedNats) < limit ? [words.with(at, rival).join(' ')] : [];
  });
}

/** "Hand in out now": nobody says both; the second of the two is the other reading of the first. */
function saysBoth(words: readonly string[]): string | undefined {
  const at = words.findIndex((word, k) => k > 0 && isPair(data.both, words[k - 1]!, word));
  return at < 0 ? undefined : words.toSpliced(at - 1, 1).join(' ');
}

/** "McRoberts and successful": no way to speak, and what "McRoberts unsuccessful" is heard as. */
function perhapsUnsuccessful(words: readonly string[]): string | undefined {
  const at = words.findIndex(
    (word, k) => k > 0 && /^success/.test(word) && data.heardForUnsuccessful.includes(words[k - 1]!),
  );
  return at < 0 ? undefined : words.toSpliced(at - 1, 2, 'unsuccessful').join(' ');
}

/**
 * What was accepted, though its opposite could have been said as well, is a question that offers both. Two decoders that
 * agree settle nothing here: both take "stop pushing" for "start pushing". Measured in models/reports/streams.txt.
 */
export function askIfOpposite(heard: Heard, meaning: Interpreted, alone: ReadAlone): Interpreted {
  if (meaning.outcome !== 'accept') return meaning;
  const [tuned, untouched] = [wordsIn(heard.tuned.text), wordsIn(heard.untouched?.text ?? '')];
  const near = nearOpposites(heard).map(alone);
  const other = [saysBoth(tuned), perhapsUnsuccessful(tuned)].filter((text) => text !== undefined).map(alone);
  // A manoeuvre that worked, of which the other decoder wrote "on successful".
  const succeeded = meaning.entries.some(({ phase }) => phase === 'succeeded');
  const doubted = other.length > 0 || (succeeded && perhapsUnsuccessful(untouched) !== undefined);
  const rivals = [...near, ...other].filter(
    (rival) => rival.outcome !== 'unrecognised' && !saysSame(rival, meaning),
  );
  if (rivals.length === 0 && !doubted) return meaning;
  return asQuestion(meaning, rivals.at(-1), meaning.confidence, rivals.slice(0, -1));
}
