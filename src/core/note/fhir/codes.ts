import { CODE_SYSTEM, type Document, type Resource } from './base.ts';

export const CODES = 'codes';

/** What a code of the project's own system is, by how it begins; all others are codes of entries. */
const MEANINGS: [RegExp, string][] = [
  [/^interval-/, 'Time between entries of the record; the formula stands as the method of the observation.'],
  [/^field-/, 'A field that a person filled in after the birth.'],
  [/^detail-/, 'A detail that was said or touched with an entry.'],
  [/^apgar-/, 'One of the five signs of an Apgar score, as told.'],
  [/^gas-/, 'A value of a cord blood sample as the analyser printed it, as told.'],
  [/^summary-/, 'What all entries of the record say of it together.'],
];
const OF_ENTRIES =
  'An act, a finding or a value that was called out, touched or typed, with the time of the entry.';

const meaningOf = (code: string): string => MEANINGS.find(([begins]) => begins.test(code))?.[1] ?? OF_ENTRIES;

/** The project's own codes in these resources, each with its display. */
function codesIn(value: unknown, found: Map<string, string>): Map<string, string> {
  if (typeof value !== 'object' || value === null) return found;
  const { system, code, display } = value as Record<string, unknown>;
  if (system === CODE_SYSTEM) found.set(String(code), String(display));
  for (const part of Object.values(value)) codesIn(part, found);
  return found;
}

/** The code system that travels with the document: the codes that occur in it, with what they mean. */
export function codeSystem({ note, idOf, meta }: Document, resources: readonly Resource[]): Resource {
  const found = [...codesIn(resources, new Map())].sort(([a], [b]) => (a < b ? -1 : 1));
  return {
    resourceType: 'CodeSystem',
    id: idOf(CODES),
    ...meta(),
    url: CODE_SYSTEM,
    name: 'UtterlogCodes',
    title: 'Codes of the Utterlog record, as far as this document uses them',
    status: 'active',
    ...(note.practice ? { experimental: true } : {}),
    caseSensitive: true,
    content: 'fragment',
    count: found.length,
    concept: found.map(([code, display]) => ({ code, display, definition: meaningOf(code) })),
  };
}
