import type { Entry, Phase } from '../entry.ts';
import type { AmbiguousPhrase, Vocabulary } from '../vocabulary/vocabulary.ts';
import { WORDS } from '../vocabulary/words.ts';
import answers from '../vocabulary/answers.json';
import type { CommandCode } from './interpretation.ts';
import { normalise } from './normalise.ts';
import { addPhrase, emptyTrie, type TrieNode } from './trie.ts';

export type Meaning =
  | { kind: 'code'; code: string; set: Partial<Entry>; strong: boolean; phrase: string }
  | { kind: 'ambiguous'; item: AmbiguousPhrase; strong: boolean; phrase: string };

export type Marker = 'negation' | 'conditional' | 'plan' | 'reported' | 'tag';
export interface PhaseWord {
  phase: Phase;
  before: boolean;
  after: boolean;
}

/** The vocabulary in the form in which the interpreter walks it; made once per vocabulary. */
export interface Compiled {
  anchors: TrieNode<Meaning>;
  roles: TrieNode<string>;
  drugs: TrieNode<string>;
  phases: TrieNode<PhaseWord>;
  markers: TrieNode<Marker>;
  benign: TrieNode<true>;
  commands: ReadonlyMap<string, CommandCode>;
  answers: ReadonlyMap<string, 'confirm' | 'reject'>;
  /** Every word that stands in some phrase, role or drug. */
  known: ReadonlySet<string>;
  light: ReadonlySet<string>;
}

const wordsIn = (phrase: string): string[] =>
  phrase
    .split('{role}')
    .flatMap((part, index) => [
      ...(index > 0 ? ['{role}'] : []),
      ...normalise(part, WORDS).map((token) => token.word),
    ]);

/**
 * A phrase without its light words, so that "the head is out" and "head out" are one.
 * Where too little would be left ("that's the head"), the words stay as they are.
 */
function contentOf(words: string[]): string[] {
  const content = words.filter((word) => !WORDS.light.has(word));
  const enough =
    content.length > 1 || (content.length === 1 && (WORDS.trade.has(content[0]!) || words.length === 1));
  return enough ? content : words;
}

const isStrong = (words: string[]): boolean =>
  words.some((word) => WORDS.trade.has(word)) || words.length >= 3;

function build(vocabulary: Vocabulary): Compiled {
  const known = new Set<string>();
  const learn = (words: string[]): string[] => {
    words.forEach((word) => known.add(word));
    return words;
  };
  const anchors = emptyTrie<Meaning>();
  const seen = new Set<string>();
  const addAnchor = (
    phrase: string,
    meaning:
      | Omit<Extract<Meaning, { kind: 'code' }>, 'strong' | 'phrase'>
      | Omit<Extract<Meaning, { kind: 'ambiguous' }>, 'strong' | 'phrase'>,
  ) => {
    const words = learn(contentOf(wordsIn(phrase)));
    const key = `${words.join(' ')}|${meaning.kind === 'code' ? meaning.code + JSON.stringify(meaning.set) : meaning.item.entries[0]?.code}`;
    if (seen.has(key)) return;
    seen.add(key);
    addPhrase(anchors, words, { ...meaning, strong: isStrong(words), phrase: words.join(' ') });
  };
  for (const [code, groups] of vocabulary.phrases) {
    for (const { set = {}, say } of groups)
      say.forEach((phrase) => addAnchor(phrase, { kind: 'code', code, set }));
  }
  for (const item of vocabulary.ambiguous)
    item.say.forEach((phrase) => addAnchor(phrase, { kind: 'ambiguous', item }));

  const roles = emptyTrie<string>();
  for (const { role, say } of vocabulary.roles)
    say.forEach((phrase) =>
      addPhrase(roles, learn(wordsIn(phrase).filter((word) => !WORDS.light.has(word))), role),
    );
  const drugs = emptyTrie<string>();
  for (const { drug, say } of vocabulary.drugs)
    say.forEach((phrase) => addPhrase(drugs, learn(wordsIn(phrase)), drug));

  return {
    anchors,
    roles,
    drugs,
    phases: phaseTrie(),
    markers: markerTrie(),
    benign: simpleTrie(WORDS.benign, true as const),
    commands: commandMap(vocabulary),
    answers: answerMap(),
    known,
    light: WORDS.light,
  };
}

function simpleTrie<T>(phrases: readonly string[], meaning: T): TrieNode<T> {
  const trie = emptyTrie<T>();
  phrases.forEach((phrase) => addPhrase(trie, wordsIn(phrase), meaning));
  return trie;
}

function phaseTrie(): TrieNode<PhaseWord> {
  const trie = emptyTrie<PhaseWord>();
  const phrases = new Map<string, PhaseWord>();
  for (const [phase, { before, after }] of Object.entries(WORDS.phases)) {
    for (const phrase of new Set([...before, ...after])) {
      phrases.set(phrase, {
        phase: phase as Phase,
        before: before.includes(phrase),
        after: after.includes(phrase),
      });
    }
  }
  for (const [phrase, word] of phrases) addPhrase(trie, wordsIn(phrase), word);
  return trie;
}

function markerTrie(): TrieNode<Marker> {
  const trie = emptyTrie<Marker>();
  const add = (phrases: Iterable<string>, marker: Marker) => {
    for (const phrase of phrases) addPhrase(trie, wordsIn(phrase), marker);
  };
  add(WORDS.negation, 'negation');
  add(WORDS.conditional, 'conditional');
  add(WORDS.plan, 'plan');
  add(WORDS.reported, 'reported');
  add(WORDS.tags, 'tag');
  return trie;
}

function commandMap(vocabulary: Vocabulary): Map<string, CommandCode> {
  const map = new Map<string, CommandCode>();
  for (const { code, say } of vocabulary.commands)
    say.forEach((phrase) => map.set(wordsIn(phrase).join(' '), code));
  return map;
}

function answerMap(): Map<string, 'confirm' | 'reject'> {
  const map = new Map<string, 'confirm' | 'reject'>();
  for (const phrase of answers.confirm) map.set(wordsIn(phrase).join(' '), 'confirm');
  for (const phrase of answers.reject) map.set(wordsIn(phrase).join(' '), 'reject');
  return map;
}

const compiledOnce = new WeakMap<Vocabulary, Compiled>();

export function compiled(vocabulary: Vocabulary): Compiled {
  const known = compiledOnce.get(vocabulary);
  if (known) return known;
  const made = build(vocabulary);
  compiledOnce.set(vocabulary, made);
  return made;
}
