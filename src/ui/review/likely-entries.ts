import Fuse from 'fuse.js/basic';
import type { Entry } from '../../core/entry.ts';
import type { UtteranceView } from '../../core/log/view.ts';
import type { Vocabulary } from '../../core/vocabulary/vocabulary.ts';
import { missingSlots } from '../live/slot-choices.ts';

const SHOWN = 2;
/** How far a phrase may lie from the words, 0 to 1. Project choice: a person reads each before touching it. */
const THRESHOLD = 0.34;

interface Phrase {
  words: string;
  entry: Entry;
}

const built = new WeakMap<Vocabulary, Fuse<Phrase>>();

function phrasesOf(vocabulary: Vocabulary): Fuse<Phrase> {
  const known = built.get(vocabulary);
  if (known) return known;
  const phrases = [...vocabulary.phrases].flatMap(([code, groups]) =>
    groups.flatMap(({ set, say }) => say.map((words): Phrase => ({ words, entry: { code, ...set } }))),
  );
  const whole = phrases.filter(({ entry }) => missingSlots(entry, vocabulary).length === 0);
  const fuse = new Fuse(whole, {
    keys: ['words'],
    includeScore: true,
    threshold: THRESHOLD,
    ignoreLocation: true,
  });
  built.set(vocabulary, fuse);
  return fuse;
}

/**
 * Entries that the words of an utterance may have meant, nearest first, for a person to choose from.
 * Only such as a phrase states whole: no number, side or vessel is filled in.
 */
export function likelyEntries(utterance: UtteranceView, vocabulary: Vocabulary): Entry[] {
  const readings = [utterance.heard, utterance.heardSecond ?? ''].filter((words) => words.trim() !== '');
  const found = readings
    .flatMap((words) => phrasesOf(vocabulary).search(words, { limit: 12 }))
    .sort((a, b) => (a.score ?? 1) - (b.score ?? 1));
  const entries = new Map<string, Entry>();
  for (const { item } of found)
    entries.set(JSON.stringify(item.entry), entries.get(JSON.stringify(item.entry)) ?? item.entry);
  return [...entries.values()].slice(0, SHOWN);
}
