import { documentOf, MOTHER, type Resource } from './fhir/base.ts';
import { codeSystem } from './fhir/codes.ts';
import { composition, people, practitioners } from './fhir/composition.ts';
import { specimens } from './fhir/cord-gas.ts';
import {
  anteriorShoulder,
  fieldObservations,
  intervalObservations,
  manoeuvreDetails,
  observationsOf,
} from './fhir/observations.ts';
import { birthProcedure, manoeuvreProcedures } from './fhir/procedures.ts';
import { provenances } from './fhir/provenance.ts';
import type { Note } from './model.ts';

/**
 * The record as a FHIR R4 document Bundle, JSON text. A second rendering of the same entries: no
 * severity, no diagnosis, no interpretation. LOINC where a code was confirmed, else the project's own code, whose meaning travels with the document.
 * Callers refuse a practice record unless a person asked for it; the document then carries the mark
 * in its title, its narrative and in every resource.
 * @param replaces identifier of the document of an earlier state of the record that this one takes the place of.
 */
export function noteFhir(note: Note, replaces?: { system: string; value: string }): string {
  const document = documentOf(note);
  const date = note.view.events.at(-1)?.madeAt ?? note.file.createdAt;
  const birth = birthProcedure(document);
  const clinical: Resource[] = [
    ...(birth === null ? [] : [birth]),
    ...manoeuvreProcedures(document),
    ...manoeuvreDetails(document),
    ...note.lines.flatMap((line) => observationsOf(document, line)),
    ...intervalObservations(document),
    anteriorShoulder(document),
    ...fieldObservations(document),
  ];
  const mother = document.refTo(MOTHER).reference;
  const isMothers = ({ subject }: Resource) => (subject as { reference: string }).reference === mother;
  const labour = clinical.filter(isMothers).map(({ id }) => id);
  const newborn = clinical.filter((resource) => !isMothers(resource)).map(({ id }) => id);
  const told = [...specimens(document), ...clinical];
  const codes = codeSystem(document, told);
  const resources = [
    composition(document, date, { labour, newborn, codes: codes.id }, replaces),
    ...people(document),
    ...practitioners(document),
    ...told,
    ...provenances(document),
    codes,
  ];
  const bundle = {
    resourceType: 'Bundle',
    id: document.idOf('bundle'),
    ...document.meta(),
    identifier: {
      system: 'urn:ietf:rfc:3986',
      value: `urn:uuid:${document.idOf(`bundle/${note.view.events.length}`)}`,
    },
    type: 'document',
    timestamp: date,
    entry: resources.map((resource) => ({ fullUrl: `urn:uuid:${resource.id}`, resource })),
  };
  return `${JSON.stringify(bundle, null, 1)}\n`;
}
