import answers from '../vocabulary/answers.json';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { WORDS } from '../vocabulary/words.ts';
import { interpret } from './interpret.ts';
import type { Interpreted } from './interpretation.ts';
import { normalise } from './words/normalise.ts';
import { soundCost, soundOf } from './words/sound.ts';
import thresholds from './decide/thresholds.json';

/** An existing wording that a new one lies too close to. */
export interface Neighbour {
  code: string;
  phrase: string;
  /** 0 the same sound, 1 nothing in common. */
  distance: number;
}

export interface Trial {
  /** What the words would log as the vocabulary stands. */
  meaning: Interpreted;
  /** Wordings of other codes that sound alike, nearest first, at most five. */
  close: Neighbour[];
}

/** Sounds of phrases, worked out once: a unit tries one phrase after another against the same list. */
const sounds = new Map<string, string>();

function soundOfPhrase(phrase: string): string {
  const known = sounds.get(phrase);
  if (known !== undefined) return known;
  const sound = phraseSound(phrase);
  sounds.set(phrase, sound);
  return sound;
}

const phraseSound = (phrase: string): string =>
  soundOf(
    normalise(phrase, WORDS)
      .map((token) => token.word)
      .filter((word) => !WORDS.light.has(word))
      .join(''),
  );

/**
 * Tries a phrase by its words: what it would log now, and which existing wordings it could be mistaken for.
 * @param forCode the code that the phrase is meant for: its own wordings are no danger.
 */
export function tryPhrase(text: string, vocabulary: Vocabulary, forCode?: string): Trial {
  const meaning = interpret({ tuned: { text } }, { asking: false }, vocabulary);
  const sound = soundOfPhrase(text);
  const nearest = new Map<string, Neighbour>();
  const limit = thresholds.closePhraseDistance;
  const consider = (code: string, phrase: string): void => {
    if (code === forCode || phrase.includes('{role}')) return;
    const distance = soundCost(sound, soundOfPhrase(phrase), limit);
    const known = nearest.get(code);
    if (distance <= limit && (!known || distance < known.distance))
      nearest.set(code, { code, phrase, distance: Math.round(distance * 1000) / 1000 });
  };
  if (sound !== '') {
    for (const [code, groups] of vocabulary.phrases)
      groups.forEach(({ say }) => say.forEach((phrase) => consider(code, phrase)));
    for (const { code, say } of vocabulary.commands) say.forEach((phrase) => consider(code, phrase));
    for (const { say } of vocabulary.roles) say.forEach((phrase) => consider('role-called', phrase));
    for (const { say } of vocabulary.drugs) say.forEach((phrase) => consider('drug-given', phrase));
    for (const code of ['confirm', 'reject'] as const)
      answers[code].forEach((phrase) => consider(code, phrase));
  }
  return { meaning, close: [...nearest.values()].sort((a, b) => a.distance - b.distance).slice(0, 5) };
}
