import { loadVocabulary } from '../../packs/vocabulary.ts';
import type { UnitVocabulary } from '../../core/vocabulary/vocabulary.ts';

const has = (list: readonly string[] | undefined, wording: string): boolean =>
  list?.some((known) => known.toLowerCase() === wording.toLowerCase()) ?? false;

/** The unit's list with one more wording for a code; a wording that is there already changes nothing. */
export function withWording(unit: UnitVocabulary, code: string, wording: string): UnitVocabulary {
  const words = unit.phrases?.[code] ?? [];
  if (has(words, wording)) return unit;
  return { ...unit, phrases: { ...unit.phrases, [code]: [...words, wording] } };
}

export function withoutWording(unit: UnitVocabulary, code: string, wording: string): UnitVocabulary {
  const { [code]: words = [], ...others } = unit.phrases ?? {};
  const left = words.filter((known) => known !== wording);
  return { ...unit, phrases: left.length > 0 ? { ...others, [code]: left } : others };
}

/** A name made of what a person typed: "Cat. theatre" → "cat-theatre". */
export const nameFrom = (label: string): string =>
  label
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, '-')
    .replace(/^-|-$/g, '');

export type NewWord = { kind: 'role' | 'drug' | 'code'; label: string; say: string[] };

/** The unit's list with a role, a drug or a free code of its own. */
export function withNew(unit: UnitVocabulary, { kind, label, say }: NewWord): UnitVocabulary {
  switch (kind) {
    case 'role':
      return { ...unit, roles: [...(unit.roles ?? []), { role: nameFrom(label), label, say }] };
    case 'drug':
      return { ...unit, drugs: [...(unit.drugs ?? []), { drug: label, say }] };
    case 'code':
      return { ...unit, codes: [...(unit.codes ?? []), { code: `unit-${nameFrom(label)}`, label, say }] };
  }
}

/** Everything that the unit added, one line each. */
export interface UnitLine {
  kind: 'phrase' | 'role' | 'drug' | 'code';
  name: string;
  words: string;
  without: UnitVocabulary;
}

export function linesOf(unit: UnitVocabulary): UnitLine[] {
  const phrases = Object.entries(unit.phrases ?? {}).flatMap(([code, words]) =>
    words.map((word): UnitLine => ({
      kind: 'phrase',
      name: code,
      words: word,
      without: withoutWording(unit, code, word),
    })),
  );
  const roles = (unit.roles ?? []).map((role, at): UnitLine => ({
    kind: 'role',
    name: role.label,
    words: role.say.join(', '),
    without: { ...unit, roles: unit.roles!.toSpliced(at, 1) },
  }));
  const drugs = (unit.drugs ?? []).map((drug, at): UnitLine => ({
    kind: 'drug',
    name: drug.drug,
    words: drug.say.join(', '),
    without: { ...unit, drugs: unit.drugs!.toSpliced(at, 1) },
  }));
  const codes = (unit.codes ?? []).map((code, at): UnitLine => ({
    kind: 'code',
    name: code.label,
    words: code.say.join(', '),
    without: { ...unit, codes: unit.codes!.toSpliced(at, 1) },
  }));
  return [...phrases, ...roles, ...drugs, ...codes];
}

/** Why this list cannot be used, as a sentence; null where it can. */
export function faultOf(unit: UnitVocabulary): string | null {
  try {
    loadVocabulary(unit);
    return null;
  } catch (error) {
    return error instanceof Error ? error.message : String(error);
  }
}
