import { choiceText, isNumber, slotInfo, type SlotName } from '../../slots.ts';
import type { CodeInfo } from '../../vocabulary/vocabulary.ts';
import { APGAR_SIGNS } from '../../facts/apgar.ts';
import { logged } from '../../facts/logged.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import { isManoeuvre } from '../../facts/manoeuvres.ts';
import { timingText } from '../lines.ts';
import type { Entry } from '../../entry.ts';
import { birthsMs } from '../../log/time-bounds.ts';
import type { RecordView } from '../../log/view.ts';
import type { NoteLine } from '../model.ts';
import { isoText } from '../times.ts';
import { gasObservations } from './cord-gas.ts';
import { coded, MOTHER, NEWBORN, NOT_KNOWN, quantity, type Document, type Resource } from './base.ts';
import { procedureName } from './procedures.ts';
import { APGAR_PART_NAMES } from '../../vocabulary/entry-label.ts';

const MINUTE_MS = 60_000;

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
    code: coded({ code: entry.code, display: label }, label, loinc),
    subject: refTo((entry.patient ?? (group === 'baby' ? 'baby' : 'mother')) === 'baby' ? NEWBORN : MOTHER),
    effectiveDateTime: isoText(note.view, atMs),
    note: [{ text: [line.text, ...line.marks, timingText(line.entry.timing)].join('; ') }],
  };
}

function valueOf({ note: { view, vocabulary } }: Document, line: NoteLine): object {
  const { entry, atMs } = line.entry;
  switch (entry.code) {
    case 'head-delivered':
      return {
        code: coded({ code: entry.code, display: 'Time head delivered' }),
        valueDateTime: isoText(view, atMs),
      };
    case 'body-delivered':
      return {
        code: coded(
          { code: entry.code, display: 'Time baby delivered' },
          'Time baby delivered',
          'Date and time of obstetric delivery',
        ),
        valueDateTime: isoText(view, atMs),
      };
    case 'apgar': {
      const { minute, score, parts } = entry;
      const at = minute === undefined ? 'minute not recorded' : `${minute} min`;
      const component = APGAR_SIGNS.filter((sign) => parts?.[sign] !== undefined).map((sign) => ({
        code: coded(
          { code: `apgar-${sign}`, display: `Apgar: ${APGAR_PART_NAMES[sign]}` },
          `Apgar ${at}: ${APGAR_PART_NAMES[sign]}`,
          `Apgar ${minute} min ${APGAR_PART_NAMES[sign]}`,
        ),
        valueQuantity: quantity(parts![sign]!, '{score}'),
      }));
      return {
        code: coded(
          { code: entry.code, display: 'Apgar score' },
          `Apgar score at ${at}`,
          `Apgar total ${minute} min`,
        ),
        ...timeOfApgar(view, minute, atMs),
        ...(score === undefined ? NOT_KNOWN : { valueQuantity: quantity(score, '{score}') }),
        ...(component.length > 0 ? { component } : {}),
      };
    }
    default:
      return bySlots(line, codeInfo(vocabulary, entry.code));
  }
}

/** A score is of its minute after the birth, whenever it was told. */
function timeOfApgar(view: RecordView, minute: number | undefined, toldMs: number): object {
  const births = birthsMs(view);
  if (minute === undefined || births.length !== 1) return {};
  return {
    effectiveDateTime: isoText(view, births[0]! + minute * MINUTE_MS),
    issued: isoText(view, toldMs),
  };
}

/** Which side, which hand, which way, how: told with an entry, whatever it is of. */
const DETAILS = ['side', 'babySide', 'hand', 'direction', 'style', 'position', 'bone'] as const;

export const details = (entries: readonly Entry[], slots: readonly SlotName[]): object[] =>
  slots.flatMap((slot) =>
    [
      ...new Set(
        entries.flatMap((entry) => (entry[slot] === undefined ? [] : [choiceText(slot, entry[slot])])),
      ),
    ].map((valueString) => ({
      code: coded({ code: `detail-${slot}`, display: slotInfo(slot).name }),
      valueString,
    })),
  );

/** Side, hand, direction and style of a manoeuvre, each as a component: a Procedure has no place for them. */
export function manoeuvreDetails({ note, idOf, refTo, meta }: Document): Resource[] {
  return note.facts.manoeuvres.flatMap((span): Resource[] => {
    const lines = note.lines.filter(({ entry }) => span.entryIds.includes(entry.entryId));
    const component = details(
      lines.map(({ entry }) => entry.entry),
      DETAILS,
    );
    if (component.length === 0) return [];
    return [
      {
        resourceType: 'Observation',
        id: idOf(`details/${span.first.entryId}`),
        ...meta(),
        partOf: [refTo(procedureName(span))],
        status: note.view.signatures.length > 0 ? 'final' : 'preliminary',
        code: coded({ code: 'summary-manoeuvre', display: 'Details of a manoeuvre as called out' }),
        subject: refTo(MOTHER),
        ...(span.startMs === null ? {} : { effectiveDateTime: isoText(note.view, span.startMs) }),
        component,
      },
    ];
  });
}

/** What the slot schema says: a code that holds a number in a unit has it as its value, all others their words. */
function bySlots({ entry: { entry }, text }: NoteLine, info: CodeInfo): object {
  const of = (kind: string) => info.slots.filter((slot) => slotInfo(slot).fhir === kind);
  const value = of('value').find((slot) => isNumber(slot));
  const sides = details([entry], DETAILS);
  if (value === undefined) return { valueString: text, ...(sides.length > 0 ? { component: sides } : {}) };
  const amount = entry[value];
  const unit = slotInfo(value).unit ?? of('unit').map((slot) => entry[slot])[0];
  const told = (slot: SlotName) => entry[slot] !== undefined;
  const component = [...sides, ...details([entry], of('component'))];
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
          code: coded({
            code: `interval-${id}`,
            display: id === 'head-to-body' ? 'Head-to-body interval' : label,
          }),
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
    code: coded({ code: 'summary-anterior-shoulder', display: "Anterior shoulder (the baby's own side)" }),
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
              code: coded({ code: `field-${field.id}`, display: field.label }),
              issued: note.view.fields[field.id]!.madeAt,
              subject: refTo(id === 'baby' ? NEWBORN : MOTHER),
              valueString: field.unit === undefined ? typed : `${typed} ${field.unit}`,
            },
          ],
    ),
  );
}
