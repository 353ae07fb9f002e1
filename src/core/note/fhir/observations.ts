import { choiceText, isNumber, slotInfo, type SlotName } from '../../slots.ts';
import type { CodeInfo } from '../../vocabulary/vocabulary.ts';
import { APGAR_SIGNS } from '../../facts/apgar.ts';
import { logged } from '../../facts/logged.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import { isManoeuvre } from '../../facts/manoeuvres.ts';
import { timingText } from '../lines.ts';
import type { NoteLine } from '../model.ts';
import { isoText } from '../times.ts';
import { gasObservations } from './cord-gas.ts';
import { concept, MOTHER, NEWBORN, NOT_KNOWN, quantity, type Document, type Resource } from './base.ts';
import { APGAR_PART_NAMES } from '../../vocabulary/entry-label.ts';

/** Status of what an entry became: signed records are final, later changes amended, struck entries errors. */
export function statusOf({ note: { view } }: Document, { entry }: NoteLine): string {
  const signed = view.signatures.at(-1)?.seq;
  if (entry.status === 'struck') return 'entered-in-error';
  if (signed === undefined) return 'preliminary';
  return entry.history.some((seq) => seq > view.signatures[0]!.seq) ? 'amended' : 'final';
}

/** Observations of one entry; none for a manoeuvre that stands, which is a Procedure. */
export function observationsOf(document: Document, line: NoteLine): Resource[] {
  const { entry } = line.entry;
  if (isManoeuvre(entry.code) && line.entry.status === 'logged') return [];
  if (entry.code === 'cord-gas') return gasObservations(document, line, base(document, line));
  return [{ ...base(document, line), ...valueOf(document, line) }];
}

function base(document: Document, line: NoteLine): Resource {
  const { note, idOf, refTo, meta } = document;
  const { entry, atMs } = line.entry;
  const { group, label, loinc } = codeInfo(note.vocabulary, entry.code);
  return {
    resourceType: 'Observation',
    id: idOf(line.entry.entryId),
    ...meta(),
    status: statusOf(document, line),
    code: concept(label, loinc),
    subject: refTo((entry.patient ?? (group === 'baby' ? 'baby' : 'mother')) === 'baby' ? NEWBORN : MOTHER),
    effectiveDateTime: isoText(note.view, atMs),
    note: [{ text: [line.text, ...line.marks, timingText(line.entry.timing)].join('; ') }],
  };
}

function valueOf({ note: { view, vocabulary } }: Document, line: NoteLine): object {
  const { entry, atMs } = line.entry;
  switch (entry.code) {
    case 'head-delivered':
      return { code: concept('Time head delivered'), valueDateTime: isoText(view, atMs) };
    case 'body-delivered':
      return {
        code: concept('Time baby delivered', 'Date and time of obstetric delivery'),
        valueDateTime: isoText(view, atMs),
      };
    case 'apgar': {
      const { minute, score, parts } = entry;
      const at = minute === undefined ? 'minute not recorded' : `${minute} min`;
      const component = APGAR_SIGNS.filter((sign) => parts?.[sign] !== undefined).map((sign) => ({
        code: concept(
          `Apgar ${at}: ${APGAR_PART_NAMES[sign]}`,
          `Apgar ${minute} min ${APGAR_PART_NAMES[sign]}`,
        ),
        valueQuantity: quantity(parts![sign]!, '{score}'),
      }));
      return {
        code: concept(`Apgar score at ${at}`, `Apgar total ${minute} min`),
        ...(score === undefined ? NOT_KNOWN : { valueQuantity: quantity(score, '{score}') }),
        ...(component.length > 0 ? { component } : {}),
      };
    }
    default:
      return bySlots(line, codeInfo(vocabulary, entry.code));
  }
}

/** What the slot schema says: a code that holds a number in a unit has it as its value, all others their words. */
function bySlots({ entry: { entry }, text }: NoteLine, info: CodeInfo): object {
  const of = (kind: string) => info.slots.filter((slot) => slotInfo(slot).fhir === kind);
  const value = of('value').find((slot) => isNumber(slot));
  if (value === undefined) return { valueString: text };
  const amount = entry[value];
  const unit = slotInfo(value).unit ?? of('unit').map((slot) => entry[slot])[0];
  const told = (slot: SlotName) => entry[slot] !== undefined;
  const component = of('component')
    .filter(told)
    .map((slot) => ({
      code: concept(slotInfo(slot).name),
      valueString: choiceText(slot, entry[slot]),
    }));
  const method = of('method').find(told);
  return {
    ...(typeof amount !== 'number' || unit === undefined
      ? amount === undefined && info.required.includes(value)
        ? NOT_KNOWN
        : { valueString: text }
      : { valueQuantity: quantity(amount, String(unit)) }),
    ...(method === undefined ? {} : { method: { text: String(entry[method]) } }),
    ...(component.length > 0 ? { component } : {}),
  };
}

/** One figure, or both as a range where the clocks parted in between. */
function lengthValue({
  seconds,
  byDeviceClockSeconds: other,
}: {
  seconds: number;
  byDeviceClockSeconds?: number;
}) {
  if (other === undefined) return { valueQuantity: quantity(seconds, 's') };
  const [low, high] = [Math.min(seconds, other), Math.max(seconds, other)];
  return { valueRange: { low: quantity(low, 's'), high: quantity(high, 's') } };
}

/** The intervals with their formula; the head-to-body interval stands even where it is not recorded. */
export function intervalObservations({ note, idOf, refTo, meta }: Document): Resource[] {
  return note.facts.intervals.flatMap(
    ({ id, label, value, formula, inputs, entryIds, marks }): Resource[] => {
      if (value.kind !== 'known' && id !== 'head-to-body') return [];
      const told =
        value.kind === 'known'
          ? marks.join(', ') || 'timed'
          : value.kind === 'conflict'
            ? `conflict: ${value.why}`
            : `missing: ${value.missing}`;
      const from = entryIds.filter((entryId) => {
        const found = note.view.entries.find((e) => e.entryId === entryId);
        return found !== undefined && !isManoeuvre(found.entry.code);
      });
      const onlyObservations = from.length === entryIds.length && inputs.length > 0;
      return [
        {
          resourceType: 'Observation',
          id: idOf(`interval/${id}`),
          ...meta(),
          status: note.view.signatures.length > 0 ? 'final' : 'preliminary',
          code: concept(id === 'head-to-body' ? 'Head-to-body interval' : label),
          subject: refTo(MOTHER),
          ...(value.kind === 'known' ? lengthValue(value) : NOT_KNOWN),
          ...(onlyObservations && from.length > 0 ? { derivedFrom: from.map(refTo) } : {}),
          method: { text: formula },
          note: [{ text: told }],
        },
      ];
    },
  );
}

/** Anterior shoulder as left, right, conflict or not recorded: from what was called out, never worked out. */
export function anteriorShoulder({ note, idOf, refTo, meta }: Document): Resource {
  const readings = logged(note.view, 'anterior-shoulder');
  const sides = new Set(readings.map((e) => e.entry.babySide));
  const conflict = note.facts.conflicts.some(
    ({ kind, entryIds }) => kind === 'sides' && readings.some((e) => entryIds.includes(e.entryId)),
  );
  const value =
    readings.length === 0
      ? NOT_KNOWN
      : { valueString: conflict || sides.size > 1 ? 'conflict' : String([...sides][0]) };
  return {
    resourceType: 'Observation',
    id: idOf('summary/anterior-shoulder'),
    ...meta(),
    status: note.view.signatures.length > 0 ? 'final' : 'preliminary',
    code: concept("Anterior shoulder (the baby's own side)"),
    subject: refTo(NEWBORN),
    ...value,
    ...(readings.length === 0 ? {} : { derivedFrom: readings.map((e) => refTo(e.entryId)) }),
  };
}

/** Fields that were typed in and are no call-outs. */
export function fieldObservations({ note, idOf, refTo, meta }: Document): Resource[] {
  return note.facts.completeness.groups.flatMap(({ id, fields }) =>
    fields.flatMap(({ field, typed }): Resource[] =>
      typed === undefined
        ? []
        : [
            {
              resourceType: 'Observation',
              id: idOf(`field/${field.id}`),
              ...meta(),
              status: note.view.signatures.length > 0 ? 'final' : 'preliminary',
              code: concept(field.label),
              issued: note.view.fields[field.id]!.madeAt,
              subject: refTo(id === 'baby' ? NEWBORN : MOTHER),
              valueString: field.unit === undefined ? typed : `${typed} ${field.unit}`,
            },
          ],
    ),
  );
}
