import type { Author } from '../../log/events.ts';
import type { EntryChange } from '../../log/view.ts';
import { isManoeuvre } from '../../facts/manoeuvres.ts';
import { authorText, eventAt } from '../lines.ts';
import type { NoteLine } from '../model.ts';
import { DEVICE, type Document, type Resource } from './base.ts';
import { gasNames } from './cord-gas.ts';
import { procedureName } from './procedures.ts';

/** Who made an entry and how, one more for each change of it; who typed a field, and when. */
export function provenances(document: Document): Resource[] {
  return [...ofEntries(document), ...ofFields(document)];
}

function ofFields(document: Document): Resource[] {
  const { note, refTo } = document;
  return note.facts.completeness.groups.flatMap(({ fields }) =>
    fields.flatMap(({ field, typed }) => {
      if (typed === undefined) return [];
      const { by, madeAt } = note.view.fields[field.id]!;
      const name = `field/${field.id}`;
      const told = { name, target: [refTo(name)], by, recorded: madeAt, how: 'typed', reason: undefined };
      return [provenance(document, told)];
    }),
  );
}

function ofEntries(document: Document): Resource[] {
  return document.note.lines.flatMap((line) => {
    const target = targetNames(document, line).map(document.refTo);
    if (target.length === 0) return [];
    const { entry } = line;
    const { history, confirmedBy, by, entryId } = entry;
    const made = eventAt(document.note.view, history[confirmedBy === undefined ? 0 : 1]!);
    const first = {
      name: entryId,
      target,
      by: confirmedBy ?? by,
      recorded: made.madeAt,
      how: originOf(line),
      reason: undefined,
    };
    const changes = entry.changes.map((change) => ({
      name: `${entryId}/${change.seq}`,
      target,
      by: change.by,
      recorded: change.madeAt,
      how: CHANGES[change.kind],
      reason: change.reason,
    }));
    return [first, ...changes].map((told) => provenance(document, told));
  });
}

const CHANGES: Record<EntryChange['kind'], string> = {
  strike: 'later edit: struck out',
  restore: 'later edit: taken up again',
  replace: 'later edit: entry corrected',
  shift: 'later edit: time corrected',
};

function originOf({ entry }: NoteLine): string {
  if (entry.confirmedBy !== undefined) return `voice, confirmed by ${authorText(entry.confirmedBy)}`;
  if (entry.timing === 'typed' || entry.addedLater) return 'later edit: added';
  return entry.utteranceId === undefined ? 'tap' : 'voice';
}

/** Names of the resources that an entry became. */
function targetNames({ note }: Document, { entry }: NoteLine): string[] {
  if (entry.entry.code === 'cord-gas') return gasNames(entry);
  if (!isManoeuvre(entry.entry.code) || entry.status === 'struck') return [entry.entryId];
  if (entry.entry.decision === 'not-needed') return [`procedure/${entry.entryId}`];
  return note.facts.manoeuvres.filter(({ entryIds }) => entryIds.includes(entry.entryId)).map(procedureName);
}

interface Told {
  name: string;
  target: { reference: string }[];
  by: Author;
  recorded: string;
  how: string;
  reason: string | undefined;
}

function provenance(
  { idOf, refTo, meta }: Document,
  { name, target, by, recorded, how, reason }: Told,
): Resource {
  const who =
    by.kind === 'voice' || by.kind === 'system'
      ? { ...refTo(DEVICE), display: authorText(by) }
      : { display: authorText(by) };
  return {
    resourceType: 'Provenance',
    id: idOf(`provenance/${name}`),
    ...meta(),
    target,
    recorded,
    activity: { text: how },
    ...(reason ? { reason: [{ text: reason }] } : {}),
    agent: [{ who }],
  };
}
