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
}

/** The words of one language that belong to no emergency. */
export interface Language {
  id: string;
  commands: readonly CommandPhrases[];
}
