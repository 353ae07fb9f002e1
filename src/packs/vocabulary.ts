import { builtInVocabulary, withUnitWords } from '../core/vocabulary/load.ts';
import { unitFaults, withoutFaults, type UnitFault } from '../core/vocabulary/unit-phrases.ts';
import type { UnitVocabulary, Vocabulary } from '../core/vocabulary/vocabulary.ts';
import { ENGLISH } from '../lang/en/language.ts';
import { HAEMORRHAGE } from './haemorrhage/pack.ts';
import { NEWBORN } from './newborn/pack.ts';
import { SHARED } from './shared/pack.ts';
import { SHOULDER_DYSTOCIA } from './shoulder-dystocia/pack.ts';

/** The packs that the app ships with. */
export const PACKS = [SHARED, SHOULDER_DYSTOCIA, NEWBORN, HAEMORRHAGE];

const BUILT_IN = builtInVocabulary(PACKS, ENGLISH);

/**
 * The vocabulary with a stored list of a unit's own words. Phrases that may not be used are left out and named; a list
 * that fits in no other way is left out as a whole (`fits` is false).
 */
export function storedVocabulary(unit: UnitVocabulary | undefined): {
  vocabulary: Vocabulary;
  left: UnitFault[];
  fits: boolean;
} {
  if (!unit) return { vocabulary: BUILT_IN, left: [], fits: true };
  const left = unitFaults(unit, BUILT_IN);
  try {
    return { vocabulary: withUnitWords(BUILT_IN, withoutFaults(unit, left)), left, fits: true };
  } catch {
    return { vocabulary: BUILT_IN, left, fits: false };
  }
}

/** What ships with the app and, on top, a unit's own words. Throws one Error that lists every fault of the list. */
export const loadVocabulary = (unit?: UnitVocabulary): Vocabulary =>
  unit ? withUnitWords(BUILT_IN, unit) : BUILT_IN;
