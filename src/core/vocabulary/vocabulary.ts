import type { Entry, Phase } from '../entry.ts';
import type { NumberSlotName, SlotName } from '../slots.ts';
import type { Alternative, CommandCode, Problem } from '../interpret/interpretation.ts';

export type Group =
  | 'birth'
  | 'findings'
  | 'team'
  | 'manoeuvres'
  | 'pushing'
  | 'baby'
  | 'mother'
  | 'newborn'
  | 'haemorrhage'
  | 'communication'
  | 'other';

export type { SlotName };

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
  /** Where this code takes some of a slot's values only, or names them in its own words: value → words. */
  values?: Readonly<Partial<Record<SlotName, Readonly<Record<string, string>>>>>;
  /** Whose it is: always one patient's, or, where both can have it, said or asked. Absent: not asked. */
  patient?: 'mother' | 'baby' | 'open';
  /** Plausible ranges of this code where the schema's own are another slot's: both ends included. */
  ranges?: Readonly<Partial<Record<SlotName, readonly number[]>>>;
  /** At least one of these, or the entry is a question. */
  requiredOne?: readonly SlotName[];
  /** Required where the record holds an entry of this code already. */
  requiredAgain?: readonly SlotName[];
  /** What is asked where a slot is missing, if not what the schema says. */
  asks?: Readonly<Partial<Record<SlotName, Problem>>>;
  /** Said with one of these words it is that code in that phase: a drug that runs is an infusion. */
  becomes?: { code: string; phase: Phase; words: readonly string[] };
  /** The few words that name it on the strip, with `{slot}` where a value stands; the label where absent. */
  short?: string;
  /** Wordings of its own for one value of a choice: value → the few words. */
  shortOf?: Readonly<Record<string, string>>;
  /** Meaning in the list of LOINC codes. */
  loinc?: string;
  /** A unit's own words for it may hold a fixed emergency-call number. */
  emergencyNumber?: true;
  /** True for a code that a unit added itself. */
  free?: true;
}

/** Wordings that mean one code, with the slots that the wording itself fills. */
export interface PhraseGroup {
  set?: Partial<Entry>;
  /** Further codes that the same words say: samples taken and sent. */
  also?: string[];
  say: string[];
}

/** A wording with more than one meaning: always a question. A text of `{words}` stands for the words as spoken. */
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
  /** For the strip. */
  short?: string;
  say: string[];
}

export interface DrugInfo {
  drug: string;
  /** Whose it is: one patient's alone, or said or asked. */
  patient?: 'mother' | 'baby' | 'open';
  say: string[];
}

export interface LookAlikes {
  pairs: { codes: [string, string] }[];
  /** Words that never stand for each other. */
  opposites: [string, string][];
}

/** Plausible ranges by slot, both ends included, and what belongs to them. */
export type Ranges = Readonly<Record<NumberSlotName, [number, number]>> & {
  /** Here a pCO2 without its unit may be kPa or mmHg. */
  pco2UnitUnclear: [number, number];
  /** Minutes at which an Apgar score is taken. */
  minutes: number[];
};

/** Everything that the interpreter and the screens know of the trade's words. */
export interface Vocabulary {
  codes: ReadonlyMap<string, CodeInfo>;
  phrases: ReadonlyMap<string, readonly PhraseGroup[]>;
  ambiguous: readonly AmbiguousPhrase[];
  commands: readonly CommandPhrases[];
  roles: readonly RoleInfo[];
  drugs: readonly DrugInfo[];
  /** Words of the packs that stand for one thing even in talk. */
  trade: ReadonlySet<string>;
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
