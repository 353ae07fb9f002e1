import type { Entry, Phase } from '../../entry.ts';
import type { AmbiguousPhrase, Vocabulary } from '../../vocabulary/vocabulary.ts';
import { WORDS } from '../../vocabulary/words.ts';
import answers from '../../vocabulary/answers.json';
import type { CommandCode } from '../interpretation.ts';
import { normalise } from '../words/normalise.ts';
import { addPhrase, emptyTrie, type TrieNode } from '../words/trie.ts';

export type Meaning =
  | {
      kind: 'code';
      code: string;
      set: Partial<Entry>;
      also: readonly string[];
      strong: boolean;
      phrase: string;
    }
  | { kind: 'ambiguous'; item: AmbiguousPhrase; strong: boolean; phrase: string };

export type Marker = 'negation' | 'conditional' | 'plan' | 'reported' | 'others' | 'tag' | 'or';
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
  /** Wordings of "no effect" that, beside a manoeuvre, say that it failed. */
  noEffect: ReadonlySet<string>;
  markers: TrieNode<Marker>;
  benign: TrieNode<true>;
  commands: ReadonlyMap<string, CommandCode>;
  answers: ReadonlyMap<string, 'confirm' | 'reject'>;
  /** Every word that stands in some phrase, role or drug. */
  known: ReadonlySet<string>;
  /** Of these, the words of phrases, roles and drugs: what a misheard word may have been. */
  terms: ReadonlySet<string>;
  light: ReadonlySet<string>;
}

const wordsIn = (phrase: string): string[] =>
  phrase
    .split(/(\{\w+\})/)
    .flatMap((part) => (part.startsWith('{') ? [part] : normalise(part, WORDS).map((token) => token.word)));

/**
 * A phrase without its light words, so that "the head is out" and "head out" are one.
 * Where too little would be left ("that's the head"), the words stay as they are.
 */
function contentOf(words: string[]): string[] {
  const content = words.filter((word) => !WORDS.light.has(word));
  // "you can push" without its first word would be a question.
  const asks =
    content.length < words.length && WORDS.question.has(content[0] ?? '') && !WORDS.question.has(words[0]!);
  return content.length > 1 && !asks ? content : words;
}

const isStrong = (words: string[], trade: ReadonlySet<string>): boolean =>
  words.some((word) => trade.has(word)) ||
  (words.length === 1
    ? WORDS.names.has(words[0]!)
    : words.some((word) => WORDS.trade.has(word)) || words.length >= 3);

/** Fillers, phases, markers, units: words that are what they are and never a misheard name. */
function everyFunctionPhrase(): string[] {
  const phases = Object.values(WORDS.phases).flatMap(({ before, after }) => [...before, ...after]);
  const respelt = [...WORDS.spellings.values()].flat();
  return [
    ...WORDS.benign,
    ...phases,
    ...WORDS.light,
    ...WORDS.question,
    ...WORDS.tags,
    ...WORDS.conditional,
    ...WORDS.plan,
    ...WORDS.reported,
    ...WORDS.others,
    ...WORDS.negation,
    ...WORDS.sideNouns,
    ...respelt,
  ];
}

interface Worded {
  literal: string[];
  meaning: Meaning;
}

function everyPhrase(vocabulary: Vocabulary): Worded[] {
  const all: Worded[] = [];
  for (const [code, groups] of vocabulary.phrases) {
    for (const { set = {}, also = [], say } of groups) {
      for (const phrase of say)
        all.push({
          literal: wordsIn(phrase),
          meaning: { kind: 'code', code, set, also, strong: false, phrase },
        });
    }
  }
  for (const item of vocabulary.ambiguous) {
    for (const phrase of item.say)
      all.push({ literal: wordsIn(phrase), meaning: { kind: 'ambiguous', item, strong: false, phrase } });
  }
  return all;
}

const meaningKey = (meaning: Meaning): string =>
  meaning.kind === 'code'
    ? meaning.code + JSON.stringify([meaning.set, meaning.also])
    : `?${JSON.stringify(meaning.item.entries)}`;

/**
 * Each phrase in its shortest form that still means one thing. Where dropping light words would make two
 * meanings one ("anterior shoulder" and "that's the anterior shoulder"), the longer phrase keeps its words.
 */
function distinct(phrases: Worded[], trade: ReadonlySet<string>): { words: string[]; meaning: Meaning }[] {
  const owners = new Map<string, { key: string; exact: boolean }[]>();
  for (const { literal, meaning } of phrases) {
    const content = contentOf(literal).join(' ');
    owners.set(content, [
      ...(owners.get(content) ?? []),
      { key: meaningKey(meaning), exact: content === literal.join(' ') },
    ]);
  }
  const out = new Map<string, { words: string[]; meaning: Meaning }>();
  const oneWord = new Set(
    phrases
      .filter(({ literal }) => literal.length === 1)
      .map(({ literal, meaning }) => `${literal[0]}|${meaningKey(meaning)}`),
  );
  for (const { literal, meaning } of phrases) {
    const key = meaningKey(meaning);
    const bare = literal.filter((word) => !WORDS.light.has(word));
    // "McRoberts please" shortens to a name that is a call-out by itself; "that's the head" does not.
    const content = bare.length === 1 && oneWord.has(`${bare[0]}|${key}`) ? bare : contentOf(literal);
    const rivals = owners.get(content.join(' '))!.filter((owner) => owner.key !== key);
    const words = rivals.length > 0 && content.length < literal.length ? literal : content;
    out.set(`${words.join(' ')}|${key}`, { words, meaning: { ...meaning, strong: isStrong(words, trade) } });
  }
  return [...out.values()];
}

function build(vocabulary: Vocabulary): Compiled {
  const known = new Set<string>();
  const learn = (words: string[]): string[] => {
    words.forEach((word) => known.add(word));
    return words;
  };
  const anchors = emptyTrie<Meaning>();
  for (const { words, meaning } of distinct(everyPhrase(vocabulary), vocabulary.trade))
    addPhrase(anchors, learn(words), meaning);

  const roles = emptyTrie<string>();
  for (const { role, say } of vocabulary.roles)
    say.forEach((phrase) =>
      addPhrase(roles, learn(wordsIn(phrase).filter((word) => !WORDS.light.has(word))), role),
    );
  const drugs = emptyTrie<string>();
  for (const { drug, say } of vocabulary.drugs)
    say.forEach((phrase) => addPhrase(drugs, learn(wordsIn(phrase)), drug));

  const terms = new Set(known);
  for (const phrase of everyFunctionPhrase()) wordsIn(phrase).forEach((word) => known.add(word));
  return {
    anchors,
    roles,
    drugs,
    phases: phaseTrie(),
    noEffect: new Set(
      (vocabulary.phrases.get('no-effect') ?? []).flatMap(({ say }) =>
        say.flatMap((phrase) => [wordsIn(phrase).join(' '), contentOf(wordsIn(phrase)).join(' ')]),
      ),
    ),
    markers: markerTrie(),
    benign: simpleTrie(WORDS.benign, true as const),
    commands: commandMap(vocabulary),
    answers: answerMap(),
    known,
    terms,
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
  add(WORDS.others, 'others');
  add(WORDS.tags, 'tag');
  add(['or'], 'or');
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
