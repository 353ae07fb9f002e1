import { sha256 } from '@noble/hashes/sha2.js';
import { bytesToHex, utf8ToBytes } from '@noble/hashes/utils.js';
import { PRACTICE_MARK, type Note } from '../model.ts';
import loinc from '../loinc.json';

/** A FHIR R4 resource as plain JSON; the R4 validator of the tests checks its shape. */
export interface Resource {
  resourceType: string;
  id: string;
  [element: string]: unknown;
}

interface Coding {
  system: string;
  code: string;
  display: string;
}

/** A practice document can be told by a machine, too: test data, HL7 ActReason. */
const PRACTICE_SECURITY: Coding = {
  system: 'http://terminology.hl7.org/CodeSystem/v3-ActReason',
  code: 'HTEST',
  display: 'test health data',
};

/** What the resources of one document share. */
export interface Document {
  note: Note;
  /** A name that is the same whenever the same record is exported. */
  idOf: (name: string) => string;
  refTo: (name: string) => { reference: string };
  meta: () => { meta?: { security: Coding[]; tag: { display: string }[] } };
}

export const MOTHER = 'mother';
export const NEWBORN = 'newborn';
export const DEVICE = 'device';

export function documentOf(note: Note): Document {
  const idOf = (name: string) => uuidFrom(`${note.file.recordId}/${name}`);
  const refTo = (name: string) => ({ reference: `urn:uuid:${idOf(name)}` });
  const meta = () =>
    note.practice ? { meta: { security: [PRACTICE_SECURITY], tag: [{ display: PRACTICE_MARK }] } } : {};
  return { note, idOf, refTo, meta };
}

/** A UUID of version 8 (RFC 9562) from a SHA-256. */
export function uuidFrom(name: string): string {
  const hex = bytesToHex(sha256(utf8ToBytes(name)));
  const variant = ((parseInt(hex[16]!, 16) & 3) | 8).toString(16);
  return `${hex.slice(0, 8)}-${hex.slice(8, 12)}-8${hex.slice(13, 16)}-${variant}${hex.slice(17, 20)}-${hex.slice(20, 32)}`;
}

/** The project's own codes; what each means goes with every document (codes.ts). Its name never changes. */
export const CODE_SYSTEM = `urn:uuid:${uuidFrom('utterlog code system')}`;

const LOINC = new Map(loinc.codes.map(({ meaning, code, tag }) => [meaning, { code, tag }]));

export interface Concept {
  text: string;
  coding?: { system: string; code: string; display?: string }[];
}

/** A concept by its text, with its LOINC code only where that code was confirmed in a read source. */
export function concept(text: string, loincMeaning?: string): Concept {
  const known = loincMeaning === undefined ? undefined : LOINC.get(loincMeaning);
  if (known === undefined || known.tag !== 'read') return { text };
  return { text, coding: [{ system: 'http://loinc.org', code: known.code }] };
}

/**
 * A concept that always has a code: LOINC's where it was confirmed, else the project's own.
 * @param code of the project's own system; `display`: what that code means wherever it stands.
 */
export function coded(
  { code, display }: { code: string; display: string },
  text = display,
  loincMeaning?: string,
): Concept {
  const found = concept(text, loincMeaning);
  return found.coding ? found : { text, coding: [{ system: CODE_SYSTEM, code, display }] };
}

export function quantity(
  value: number,
  code: string,
): { value: number; unit: string; system: string; code: string } {
  return { value, unit: UNITS[code] ?? code, system: 'http://unitsofmeasure.org', code };
}

const UNITS: Record<string, string> = { '[pH]': 'pH', 'mm[Hg]': 'mmHg', '{score}': 'score' };

/** Nobody gave it: never 0, never left silent. */
export const NOT_KNOWN = {
  dataAbsentReason: {
    coding: [{ system: 'http://terminology.hl7.org/CodeSystem/data-absent-reason', code: 'unknown' }],
    text: 'not recorded',
  },
};
