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
  /** What listening again gave; absent where it gave nothing, or was not done. */
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

const isUnsure = ({ outcome }: Interpreted): boolean => outcome === 'ask' || outcome === 'unrecognised';

/**
 * Whether to listen once more after `times` other listenings. What is unsure is worth one. What is a question then is
 * worth a further one, unless the one before was clear and said something else: two that differ are for a person to
 * settle.
 */
export const isWorthAnother = ({ meaning, secondListening }: Listened, times: number): boolean =>
  times === 0 ? isUnsure(meaning) : meaning.outcome === 'ask' && secondListening !== 'alternative';

/**
 * Weighs the meaning so far against that of one more listening to the same sound. That settles a question only with
 * the very same entries; of what was not recognised it makes a question at most; it never makes a command.
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

function withAnother(so: Listened, again: Heard, meaning: Interpreted): Listened {
  const weighed = weighListenings(so.meaning, meaning);
  const { secondListening } = weighed;
  if (secondListening === undefined) return so;
  // One more answer to what an earlier listening found: it stays found, with the readings of that one.
  if (secondListening === 'alternative') return { secondListening, ...so, meaning: weighed.meaning };
  return { ...weighed, heard: again };
}

/**
 * What an utterance means by its first listening and those at other speeds, in their order; `again` may hold more than
 * were worth it. Pure, like `interpret`.
 */
export function interpretListened(
  heard: Heard,
  again: readonly Heard[],
  context: InterpretContext,
  vocabulary: Vocabulary,
): Listened {
  let so: Listened = { meaning: interpret(heard, context, vocabulary), heard };
  for (const [times, another] of again.entries()) {
    if (!isWorthAnother(so, times)) break;
    so = withAnother(so, another, interpret(another, context, vocabulary));
  }
  return so;
}
