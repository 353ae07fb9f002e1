import type { EntryView, RecordView, UtteranceView } from '../log/view.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { WORDS } from '../vocabulary/words.ts';

/** The words that an entry rests on, fit to be printed in a record. */
export type SpokenWords =
  | { kind: 'said'; words: string }
  /** Entered by touch or typed. */
  | { kind: 'not spoken'; how: 'by touch' | 'typed in' }
  /** Neither reading is made of words that are known here: they may be misheard, and stand in the JSON only. */
  | { kind: 'unsure' };

/**
 * The words as spoken of an entry: the reading that is made of known words only. A later correction by voice counts
 * instead of what it corrected; a typed call-out is as it was typed.
 */
export function spokenWords(entry: EntryView, view: RecordView, vocabulary: Vocabulary): SpokenWords {
  const utterance = utteranceOf(entry, view);
  if (utterance === undefined)
    return { kind: 'not spoken', how: entry.timing === 'touch' ? 'by touch' : 'typed in' };
  if (utterance.typedBy !== undefined) return { kind: 'said', words: utterance.heard };
  const known = knownWords(vocabulary);
  const sure = [utterance.heard, utterance.heardSecond].find(
    (reading) =>
      reading !== undefined && wordsOf(reading).every((word) => known.has(word) || /^\d/.test(word)),
  );
  return sure === undefined || sure === '' ? { kind: 'unsure' } : { kind: 'said', words: sure };
}

function utteranceOf(entry: EntryView, view: RecordView): UtteranceView | undefined {
  const replaced = entry.changes.findLast(({ kind }) => kind === 'replace');
  const event = replaced && view.events.find(({ seq }) => seq === replaced.seq);
  const id = event?.kind === 'replace' ? event.utteranceId : entry.utteranceId;
  return view.utterances.find(({ utteranceId }) => utteranceId === id);
}

const wordsOf = (text: string): string[] => text.toLowerCase().match(/[\p{L}\d']+/gu) ?? [];

const known = new WeakMap<Vocabulary, ReadonlySet<string>>();

/** Every word of the vocabulary's wordings, and the small words of everyday speech. */
function knownWords(vocabulary: Vocabulary): ReadonlySet<string> {
  const made = known.get(vocabulary);
  if (made) return made;
  const { phrases, ambiguous, commands, roles, drugs } = vocabulary;
  const said = [
    ...[...phrases.values()].flatMap((groups) => groups.flatMap(({ say }) => say)),
    ...[...ambiguous, ...commands, ...roles, ...drugs].flatMap(({ say }) => say),
    ...WORDS.light,
    ...WORDS.trade,
    ...WORDS.benign,
    ...Object.values(WORDS.phases).flatMap(({ before, after }) => [...before, ...after]),
    ...WORDS.negation,
    ...WORDS.body,
    ...WORDS.sideNouns,
    ...Object.values(WORDS.owners).flat(),
    'left right hand anterior posterior clockwise anticlockwise counterclockwise continuous rocking one two',
  ];
  const words = new Set(said.flatMap(wordsOf));
  known.set(vocabulary, words);
  return words;
}
