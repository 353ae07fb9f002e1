import { logged } from '../../facts/logged.ts';
import { changesAfterSigning } from '../sections/identity.ts';
import { escapeMarkup } from '../escape.ts';
import { PRACTICE_MARK, type Block, type NoteLine, type Section } from '../model.ts';
import { isoText } from '../times.ts';
import { concept, DEVICE, MOTHER, NEWBORN, type Document, type Resource } from './base.ts';

/** Mother, newborn, the tie between them, and the app as the device that wrote the record. */
export function people({ note, idOf, refTo, meta }: Document): Resource[] {
  const { reference } = note.view;
  const bodies = logged(note.view, 'body-delivered');
  const born = bodies.length === 1 ? { birthDate: isoText(note.view, bodies[0]!.atMs).slice(0, 10) } : {};
  const identifier =
    reference === '' ? {} : { identifier: [{ type: { text: 'reference as typed' }, value: reference }] };
  return [
    {
      resourceType: 'Patient',
      id: idOf(MOTHER),
      ...meta(),
      ...identifier,
      link: [{ other: refTo('mother-of-newborn'), type: 'seealso' }],
    },
    { resourceType: 'Patient', id: idOf(NEWBORN), ...meta(), ...born },
    {
      resourceType: 'RelatedPerson',
      id: idOf('mother-of-newborn'),
      ...meta(),
      ...identifier,
      patient: refTo(NEWBORN),
      relationship: [{ text: 'mother' }],
    },
    {
      resourceType: 'Device',
      id: idOf(DEVICE),
      ...meta(),
      deviceName: [{ name: 'Utterlog, voice-driven record aid', type: 'user-friendly-name' }],
      ...versions(note.file),
    },
  ];
}

/** What the record says that it was made with. */
function versions({ events: [begin] }: Document['note']['file']): object {
  const madeWith = begin?.kind === 'begin' ? begin.record?.madeWith : undefined;
  if (madeWith === undefined) return {};
  return {
    version: [
      { type: { text: 'app' }, value: madeWith.app },
      { type: { text: 'speech model' }, value: madeWith.model },
      { type: { text: 'vocabulary' }, value: madeWith.vocabulary },
    ],
  };
}

export function practitioners({ note, idOf, meta }: Document): Resource[] {
  return note.view.signatures.map(({ seq, name, role }) => ({
    resourceType: 'Practitioner',
    id: idOf(`signature/${seq}`),
    ...meta(),
    name: [{ text: name }],
    ...(role === '' ? {} : { qualification: [{ code: { text: role } }] }),
  }));
}

/** The document's own page: type, state, who attests, and the note as narrative. */
export function composition(
  document: Document,
  date: string,
  entries: { labour: string[]; newborn: string[]; codes: string },
  replaces?: { system: string; value: string },
): Resource {
  const { note, idOf, refTo, meta } = document;
  const { signatures } = note.view;
  const changed = changesAfterSigning(note.view).length > 0 || note.view.amendments.length > 0;
  const status = signatures.length === 0 ? 'preliminary' : changed ? 'amended' : 'final';
  const of = (...ids: string[]) => note.sections.filter(({ id }) => ids.includes(id));
  const newborn = of('baby');
  const audit = of('changes', 'signatures', 'open');
  // A talk of the days after is no part of the labour, and whoever attests the document did not attest it.
  const leftOut = of('how-heard', 'talks');
  const labour = note.sections.filter((s) => ![...newborn, ...audit, ...leftOut].includes(s));
  const attester = signatures.map(({ seq, madeAt }) => ({
    mode: 'professional',
    time: madeAt,
    party: refTo(`signature/${seq}`),
  }));
  const section = (title: string, meaning: string | null, told: Section[], ids: string[]) => ({
    title,
    ...(meaning === null ? {} : { code: concept(title, meaning) }),
    text: narrative(told, note.practice),
    ...(ids.length > 0 ? { entry: ids.map((id) => ({ reference: `urn:uuid:${id}` })) } : {}),
  });
  return {
    resourceType: 'Composition',
    id: idOf('composition'),
    ...meta(),
    // The same for every state of one record: a server sees which documents are versions of one.
    identifier: { system: 'urn:ietf:rfc:3986', value: `urn:uuid:${idOf('composition')}` },
    ...(replaces ? { relatesTo: [{ code: 'replaces', targetIdentifier: replaces }] } : {}),
    text: narrative(of('record', 'key-times', 'conflicts'), note.practice),
    status,
    type: concept('Labour and delivery summary note', 'Labour and delivery summary note'),
    subject: refTo(MOTHER),
    date,
    author: [refTo(DEVICE)],
    title: note.practice ? `${PRACTICE_MARK}: ${note.title}` : note.title,
    ...(attester.length > 0 ? { attester } : {}),
    section: [
      section('Labour process', 'Section: labour process narrative', labour, entries.labour),
      section('Newborn', 'Section: newborn delivery information', newborn, entries.newborn),
      section('How the record came about', null, audit, []),
      { title: 'Codes', entry: [{ reference: `urn:uuid:${entries.codes}` }] },
    ],
  };
}

function narrative(sections: Section[], practice: boolean): { status: string; div: string } {
  const mark = practice ? `<p><b>${escapeMarkup(PRACTICE_MARK)}</b></p>` : '';
  const told = sections.map(
    ({ title, blocks }) => `<h3>${escapeMarkup(title)}</h3>${blocks.map(blockXhtml).join('')}`,
  );
  return {
    status: 'generated',
    div: `<div xmlns="http://www.w3.org/1999/xhtml">${mark}${told.join('')}</div>`,
  };
}

const list = (items: string[]) =>
  `<ul>${items.map((item) => `<li>${escapeMarkup(item)}</li>`).join('')}</ul>`;
const lineText = ({ number, time, fromHead, text, marks }: NoteLine) =>
  `${number}. ${time} (from head: ${fromHead}) ${text}${marks.length > 0 ? ` [${marks.join('; ')}]` : ''}`;

function blockXhtml(block: Block): string {
  switch (block.kind) {
    case 'pairs':
      return list(
        block.pairs.map(
          ({ label, value, remark }) => `${label}: ${value}${remark === undefined ? '' : ` (${remark})`}`,
        ),
      );
    case 'table': {
      const row = (cells: string[], cell: string) =>
        `<tr>${cells.map((c) => `<${cell}>${escapeMarkup(c)}</${cell}>`).join('')}</tr>`;
      return `<table>${row(block.table.columns, 'th')}${block.table.rows.map((cells) => row(cells, 'td')).join('')}</table>`;
    }
    case 'lines':
      return list(block.lines.map(lineText));
    case 'list':
      return list(block.items);
    case 'text':
      return `<p>${escapeMarkup(block.text)}</p>`;
  }
}
