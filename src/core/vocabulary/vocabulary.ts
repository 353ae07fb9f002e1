import type { Entry, Phase } from '../entry.ts';
import type { Alternative, CommandCode, Problem } from '../interpret/interpretation.ts';

export type Group =
  'birth' | 'findings' | 'team' | 'manoeuvres' | 'pushing' | 'baby' | 'mother' | 'communication' | 'other';

/** Slots of an entry besides `code` and `phase`. */
export type SlotName = Exclude<keyof Entry, 'code' | 'phase' | 'spoken' | 'unclear'>;

export interface CodeInfo {
  code: string;
  group: Group;
  label: string;
  /** What is done, in plain words, where the note says it beside the name; empty for all others. */
  description: string;
  slots: readonly SlotName[];
  phases: readonly Phase[];
  /** Slots without which the entry is a question. */
  required: readonly SlotName[];
  /** True for a code that a unit added itself. */
  free?: true;
}

/** Wordings that mean one code, with the slots that the wording itself fills. */
export interface PhraseGroup {
  set?: Partial<Entry>;
  say: string[];
}

/** A wording with more than one meaning: always a question. */
export interface AmbiguousPhrase {
  say: string[];
  problem: Problem;
  entries: Entry[];
  alternatives: Alternative[];
}

export interface CommandPhrases {
  code: CommandCode;
  say: string[];
}

export interface RoleInfo {
  role: string;
  label: string;
  say: string[];
}

export interface DrugInfo {
  drug: string;
  say: string[];
}

export interface LookAlikes {
  pairs: { codes: [string, string] }[];
  /** Words that never stand for each other. */
  opposites: [string, string][];
}

export interface Ranges {
  ph: [number, number];
  pco2: [number, number];
  pco2Mmhg: [number, number];
  pco2UnitUnclear: [number, number];
  baseExcess: [number, number];
  lactate: [number, number];
  score: [number, number];
  grams: [number, number];
  millilitres: [number, number];
  minutes: number[];
}

/** Everything that the interpreter and the screens know of the trade's words. */
export interface Vocabulary {
  codes: ReadonlyMap<string, CodeInfo>;
  phrases: ReadonlyMap<string, readonly PhraseGroup[]>;
  ambiguous: readonly AmbiguousPhrase[];
  commands: readonly CommandPhrases[];
  roles: readonly RoleInfo[];
  drugs: readonly DrugInfo[];
  lookAlikes: LookAlikes;
  ranges: Ranges;
}

/** What a unit adds to the vocabulary. Everything may be left out; `{}` adds nothing. */
export interface UnitVocabulary {
  /** Marks an exported list. */
  format?: 'utterlog-unit-words';
  version?: 1;
  /** Code → further wordings. */
  phrases?: Record<string, string[]>;
  roles?: RoleInfo[];
  drugs?: DrugInfo[];
  /** Codes of the unit's own, each with at least one wording. */
  codes?: { code: string; label: string; description?: string; say: string[] }[];
}
