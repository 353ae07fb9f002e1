import type { Entry } from '../entry.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { interpret } from './interpret.ts';
import type { Heard, InterpretContext, Interpreted, SecondListening } from './interpretation.ts';
import thresholds from './thresholds.json';
import { asQuestion, sameEntries } from './two-readings.ts';

/** A meaning and the listening that it comes from. */
export interface Listened {
  meaning: Interpreted;
  /** The readings that the meaning comes from. */
  heard: Heard;
  /** What the second listening gave; absent where it gave nothing, or there was none. */
  secondListening?: SecondListening;
}

const clear = ({ unclear: _unclear, ...entry }: Entry): Entry => entry;

/** Where something is missing, out of range or of an unclear time, hearing the same again settles nothing. */
const confirms = (second: Interpreted, first: Interpreted): boolean =>
  first.outcome === 'ask' &&
  first.problem === 'unclear' &&
  !first.command &&
  sameEntries(second.entries, first.entries.map(clear)) &&
  JSON.stringify(second.when) === JSON.stringify(first.when);

/** Only what is asked about or lost is worth a second listening. */
export const isUnsure = ({ outcome }: Interpreted): boolean =>
  outcome === 'ask' || outcome === 'unrecognised';

/**
 * Weighs the meanings of two listenings to the same sound, the second slower. The second settles a question only
 * with the very same entries; of what was not recognised it makes a question at most; it never makes a command.
 */
export function weighListenings(
  first: Interpreted,
  second: Interpreted,
): Pick<Listened, 'meaning' | 'secondListening'> {
  const stands = { meaning: first };
  if (!isUnsure(first) || second.outcome !== 'accept') return stands;
  if (first.outcome === 'unrecognised')
    return { meaning: asQuestion(second, undefined, thresholds.again.found), secondListening: 'found' };
  if (confirms(second, first)) {
    const confidence = second.confidence * thresholds.again.confirmed;
    return { meaning: { ...second, confidence }, secondListening: 'confirmed' };
  }
  const meaning = asQuestion(first, second, first.confidence);
  const count = (one: Interpreted): number => ('alternatives' in one && one.alternatives?.length) || 0;
  return count(meaning) > count(first) ? { meaning, secondListening: 'alternative' } : stands;
}

/** What an utterance means by its first listening and, where there was one, the second. Pure, like `interpret`. */
export function interpretListened(
  heard: Heard,
  again: Heard | null | undefined,
  context: InterpretContext,
  vocabulary: Vocabulary,
): Listened {
  const first = interpret(heard, context, vocabulary);
  if (!again) return { meaning: first, heard };
  const weighed = weighListenings(first, interpret(again, context, vocabulary));
  const own = weighed.secondListening === undefined || weighed.secondListening === 'alternative';
  return { ...weighed, heard: own ? heard : again };
}
