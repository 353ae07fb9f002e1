import { builtInVocabulary, withUnitWords } from '../core/vocabulary/load.ts';
import type { UnitVocabulary, Vocabulary } from '../core/vocabulary/vocabulary.ts';
import { ENGLISH } from '../lang/en/language.ts';
import { HAEMORRHAGE } from './haemorrhage/pack.ts';
import { NEWBORN } from './newborn/pack.ts';
import { SHARED } from './shared/pack.ts';
import { SHOULDER_DYSTOCIA } from './shoulder-dystocia/pack.ts';

/** The packs that are on. */
export const PACKS = [SHARED, SHOULDER_DYSTOCIA];
/** Those and the packs that are being built: off until nothing of them is logged wrongly. */
export const ALL_PACKS = [...PACKS, NEWBORN, HAEMORRHAGE];

const BUILT_IN = builtInVocabulary(PACKS, ENGLISH);

/** What ships with the app and, on top, a unit's own words. Throws one Error that lists every fault of the list. */
export const loadVocabulary = (unit?: UnitVocabulary): Vocabulary =>
  unit ? withUnitWords(BUILT_IN, unit) : BUILT_IN;

/** The same with the packs that are being built. */
export const vocabularyOfAll = (): Vocabulary => builtInVocabulary(ALL_PACKS, ENGLISH);
