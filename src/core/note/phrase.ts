import type { Entry } from '../entry.ts';
import { poundsFromGrams } from '../facts/units.ts';
import { apgarPartsText, entryLabel } from '../vocabulary/entry-label.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';

/** An entry as a line of a clinical note. Where no wording of its own reads better, its display name. */
export function phrase(entry: Entry, vocabulary: Vocabulary): string {
  const { code, role, side, babySide, grams } = entry;
  switch (code) {
    case 'role-called':
      return `${roleName(role, vocabulary)} called`;
    case 'role-arrived':
      return `${roleName(role, vocabulary)} arrived`;
    case 'head-faces':
      return side === undefined ? entryLabel(entry, vocabulary) : `Head faces the mother's ${side}`;
    case 'fetal-back':
      return side === undefined ? entryLabel(entry, vocabulary) : `Baby's back on the mother's ${side}`;
    case 'anterior-shoulder':
      return babySide === undefined
        ? entryLabel(entry, vocabulary)
        : `Anterior shoulder: the baby's ${babySide}`;
    case 'no-effect':
      return '\u201cNo effect\u201d called out';
    case 'apgar':
      return apgarPhrase(entry);
    case 'birth-weight':
      return grams === undefined ? entryLabel(entry, vocabulary) : `Birth weight ${weightText(grams)}`;
    default:
      return entryLabel(entry, vocabulary);
  }
}

/** Name of a role as it is shown; a role that this vocabulary lacks keeps its own name. */
export const roleName = (role: string | undefined, vocabulary: Vocabulary): string =>
  vocabulary.roles.find((known) => known.role === role)?.label ?? (role || 'Person');

/** "4200 g, 9 lb 4.2 oz". */
export function weightText(grams: number): string {
  const { pounds, ounces } = poundsFromGrams(grams);
  return `${grams} g, ${pounds} lb ${ounces.toFixed(1)} oz`;
}

/** "7 (colour 1, heart rate 2, …)"; only the parts that a person gave. */
export function apgarScore(entry: Entry): string {
  const told = apgarPartsText(entry);
  const { score } = entry;
  const total = score === undefined ? 'total not recorded' : String(score);
  return told === '' ? total : `${total} (${told})`;
}

function apgarPhrase(entry: Entry): string {
  const minute = entry.minute === undefined ? 'minute not recorded' : `at ${entry.minute} min`;
  return `Apgar ${apgarScore(entry)} ${minute}`;
}
