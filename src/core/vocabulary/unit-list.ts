import type { UnitVocabulary } from './vocabulary.ts';

const FORMAT = 'utterlog-unit-words';

/** A unit's own words as a file that people can read. */
export const exportUnitList = (unit: UnitVocabulary): string =>
  `${JSON.stringify({ ...unit, format: FORMAT, version: 1 }, null, 2)}\n`;

export type ImportedUnitList = { kind: 'ok'; unit: UnitVocabulary } | { kind: 'refused'; sentence: string };

const refused = (sentence: string): ImportedUnitList => ({ kind: 'refused', sentence });

const isText = (value: unknown): value is string => typeof value === 'string' && value.trim() !== '';
const isTexts = (value: unknown): boolean => Array.isArray(value) && value.length > 0 && value.every(isText);

/** The place of the first part that has not the form of a list; undefined when all is well. */
function badPart(list: Record<string, unknown>): string | undefined {
  const { phrases = {}, roles = [], drugs = [], codes = [] } = list;
  if (typeof phrases !== 'object' || phrases === null || Array.isArray(phrases)) return 'phrases';
  for (const [code, say] of Object.entries(phrases)) if (!isTexts(say)) return `phrases of ${code}`;
  const rows = (value: unknown, name: string, fields: string[]): string | undefined => {
    if (!Array.isArray(value)) return name;
    const at = value.findIndex(
      (row) =>
        typeof row !== 'object' ||
        row === null ||
        !isTexts(row.say) ||
        !fields.every((field) => isText(row[field])),
    );
    return at >= 0 ? `${name}, line ${at + 1}` : undefined;
  };
  return (
    rows(roles, 'roles', ['role', 'label']) ??
    rows(drugs, 'drugs', ['drug']) ??
    rows(codes, 'codes', ['code', 'label'])
  );
}

/** Reads an exported list. Nothing of a refused list is taken over: `loadVocabulary` throws where it does not fit. */
export function importUnitList(
  text: string,
  loadVocabulary: (unit: UnitVocabulary) => unknown,
): ImportedUnitList {
  let list: unknown;
  try {
    list = JSON.parse(text);
  } catch {
    return refused(
      'The file is no JSON, so nothing was changed. Choose a list that was exported from this app.',
    );
  }
  if (typeof list !== 'object' || list === null || (list as UnitVocabulary).format !== FORMAT) {
    return refused(
      "The file is no list of a unit's words, so nothing was changed. Choose a list that was exported from this app.",
    );
  }
  if ((list as UnitVocabulary).version !== 1) {
    return refused(
      'The list was made by a newer version, so nothing was changed. Bring this app up to date first.',
    );
  }
  const bad = badPart(list as Record<string, unknown>);
  if (bad)
    return refused(
      `The list is damaged at ${bad}, so nothing was changed. Mend that part or export the list again.`,
    );
  const { phrases, roles, drugs, codes } = list as UnitVocabulary;
  const unit: UnitVocabulary = {
    ...(phrases ? { phrases } : {}),
    ...(roles ? { roles } : {}),
    ...(drugs ? { drugs } : {}),
    ...(codes ? { codes } : {}),
  };
  try {
    loadVocabulary(unit);
  } catch (error) {
    return refused((error as Error).message);
  }
  return { kind: 'ok', unit };
}
