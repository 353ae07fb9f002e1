import type {
  AmbiguousPhrase,
  CodeInfo,
  CommandPhrases,
  DrugInfo,
  LookAlikes,
  PhraseGroup,
  RoleInfo,
} from './vocabulary.ts';

/** A code as a pack writes it: what it leaves out is empty. Its wordings may stand with it. */
export type PackCode = Pick<CodeInfo, 'code' | 'group' | 'label'> &
  Partial<Omit<CodeInfo, 'code' | 'group' | 'label' | 'free'>> & { say?: PhraseGroup[] };

/** The words of one emergency, handed to the vocabulary. Where several packs name a code, the first one describes it. */
export interface Pack {
  id: string;
  codes?: readonly PackCode[];
  /** Code → wordings. */
  phrases?: readonly Readonly<Record<string, readonly PhraseGroup[]>>[];
  ambiguous?: readonly AmbiguousPhrase[];
  lookAlikes?: LookAlikes;
  roles?: readonly RoleInfo[];
  drugs?: readonly DrugInfo[];
  /** Words that stand for one thing of this emergency even in talk. */
  trade?: readonly string[];
  /** Whose a drug is, by its name; a drug that is not named here is not asked about. */
  drugPatients?: Readonly<Record<string, string>>;
  /** Wordings that say more here than in the packs before, and are no longer theirs. */
  drops?: readonly string[];
  /** Code of another pack → what this one adds to it. */
  adds?: Readonly<Record<string, Partial<CodeInfo>>>;
}

/** The words of one language that belong to no emergency. */
export interface Language {
  id: string;
  commands: readonly CommandPhrases[];
}
