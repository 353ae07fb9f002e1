import type { Entry } from '../../entry.ts';
import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { askIfHeardOtherwise } from './heard-otherwise.ts';
import { askIfOpposite } from './opposites.ts';
import { interpret, interpretReading } from '../interpret.ts';
import type { Heard, InterpretContext, Interpreted, SecondListening } from '../interpretation.ts';
import thresholds from './thresholds.json';
import { asQuestion, saysSame } from './two-readings.ts';

/** What an utterance means so far, and the listening that it comes from. */
export interface Listened {
  meaning: Interpreted;
  /** The readings that the meaning comes from. */
  heard: Heard;
  /** What listening again gave; absent where it gave nothing, or was not done. */
  secondListening?: SecondListening;
  /** Whether it is worth listening once more. */
  more: boolean;
}

const clear = ({ unclear: _unclear, ...entry }: Entry): Entry => entry;

/** Where something is missing, out of range or of an unclear time, hearing the same again settles nothing. */
const confirms = (second: Interpreted, first: Interpreted): boolean =>
  first.outcome === 'ask' &&
  first.problem === 'unclear' &&
  !first.command &&
  saysSame({ ...first, entries: first.entries.map(clear) }, second);

const isUnsure = ({ outcome }: Interpreted): boolean => outcome === 'ask' || outcome === 'unrecognised';

/** Accepted, but less surely: it stands unless every other listening fails to hear the same. */
const isWeak = ({ outcome, confidence }: Interpreted): boolean =>
  outcome === 'accept' && confidence < thresholds.again.sureFrom;

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
    if (confidence < thresholds.again.confirmFrom) return stands;
    return { meaning: { ...second, confidence }, secondListening: 'confirmed' };
  }
  const meaning = asQuestion(first, second, first.confidence);
  const count = (one: Interpreted): number => ('alternatives' in one && one.alternatives?.length) || 0;
  return count(meaning) > count(first) ? { meaning, secondListening: 'alternative' } : stands;
}

/** What is unsure, with one more listening; a clear answer that speaks against the question ends it for a person. */
function unsureWith(so: Listened, again: Heard, meaning: Interpreted, last: boolean): Listened {
  const weighed = weighListenings(so.meaning, meaning);
  const { secondListening } = weighed;
  const more = !last && isUnsure(weighed.meaning) && secondListening !== 'alternative';
  if (secondListening === undefined) return { ...so, more };
  // One more answer to what an earlier listening found: it stays found, with the readings of that one.
  if (secondListening === 'alternative') return { secondListening, ...so, meaning: weighed.meaning, more };
  return { ...weighed, heard: again, more };
}

/** What was accepted less surely: a question where not one of `others` says the same. */
function weakWith(so: Listened, others: readonly Interpreted[]): Listened {
  const clearOnes = others.filter(({ outcome }) => outcome === 'accept');
  if (clearOnes.some((other) => saysSame(so.meaning, other))) return { ...so, more: false };
  if (others.length < thresholds.again.toDoubt) return so;
  const { confidence } = so.meaning;
  const meaning = asQuestion(so.meaning, clearOnes.at(-1), confidence, clearOnes.slice(0, -1));
  return { ...so, meaning, secondListening: 'doubted', more: false };
}

type Meant = { vocabulary: Vocabulary; by: Map<string, Interpreted> };
const meant = new WeakMap<Heard, Meant>();

/**
 * The meaning of one listening, worked out once: an utterance is weighed again after each further listening. The same
 * listening in the same context by the same vocabulary means the same, so that nothing but time is saved.
 */
function once(
  heard: Heard,
  kind: 'alone' | 'cautious',
  context: InterpretContext,
  vocabulary: Vocabulary,
  make: () => Interpreted,
): Interpreted {
  let known = meant.get(heard);
  if (known?.vocabulary !== vocabulary) meant.set(heard, (known = { vocabulary, by: new Map() }));
  const key = kind + JSON.stringify(context);
  let meaning = known.by.get(key);
  if (!meaning) known.by.set(key, (meaning = make()));
  return meaning;
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
  const alone = (one: Heard): Interpreted =>
    once(one, 'alone', context, vocabulary, () => interpret(one, context, vocabulary));
  const readAlone = (text: string): Interpreted => interpretReading(text, context, vocabulary);
  const cautious = (one: Heard): Interpreted =>
    once(one, 'cautious', context, vocabulary, () =>
      askIfOpposite(one, askIfHeardOtherwise(one, alone(one), context, vocabulary), readAlone),
    );
  const first = cautious(heard);
  const weak = isWeak(first);
  // What hears nothing says nothing wrong; a question that is listened to often enough is answered wrongly at last.
  const most = first.outcome === 'unrecognised' ? Infinity : thresholds.again.ofQuestion;
  let so: Listened = { meaning: first, heard, more: weak || isUnsure(first) };
  const others: Interpreted[] = [];
  for (const another of again) {
    if (!so.more) break;
    // Where nothing was heard first, one makes a question at most, and it takes two that say the same to log.
    const meaning = first.outcome === 'unrecognised' ? alone(another) : cautious(another);
    others.push(meaning);
    so = weak ? weakWith(so, others) : unsureWith(so, another, meaning, others.length >= most);
  }
  return so;
}
