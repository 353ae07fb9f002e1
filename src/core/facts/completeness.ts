import type { Entry } from '../entry.ts';
import type { RecordView } from '../log/view.ts';
import data from './fields.json';
import { logged } from './logged.ts';
import { endWasCalled } from './manoeuvres.ts';
import type { Interval, ManoeuvreSpan } from './types.ts';
import yardsticks from './yardsticks.json';

export type FieldGroup = 'timings' | 'findings' | 'manoeuvres' | 'team' | 'baby' | 'mother' | 'communication';

/** One field of the record. Where it comes from: record standards, with the status of the source. */
export interface FieldInfo {
  id: string;
  group: FieldGroup;
  label: string;
  /** entry: by call-out or touch; derived: worked out; the others are typed into a field of this id. */
  kind: 'text' | 'number' | 'choice' | 'date-time' | 'entry' | 'derived';
  choices?: string[];
  unit?: string;
  filledBy?: { code: string; slot?: string; in?: (string | number)[] }[];
  derived?: string;
  /** The field is asked for only where one of these was called out. */
  appliesIf?: string[];
  /** Likewise, where a typed field has one of these values. */
  appliesIfField?: { field: string; in: string[] };
  status: 'R' | 'M' | 'P' | 'J';
  askedBy: { source: string; tag: string }[];
}

export const FIELDS = data.fields as FieldInfo[];
export const FIELD_GROUPS = data.groups as { id: FieldGroup; label: string }[];
export const FIELD_SOURCES: Record<string, { name: string }> = data.sources;
export const FIELD_STATUS: Record<string, string> = data.statusMeaning;

/** A published figure on how complete written notes are, with its source. Never a mark for this note. */
export interface Yardstick {
  id: string;
  study: string;
  findings: string[];
  /** Id of its source (sources.json). */
  reference: string;
}
export const YARDSTICKS = yardsticks as Yardstick[];

export interface FieldState {
  field: FieldInfo;
  state: 'recorded' | 'not recorded' | 'does not apply';
  entryIds: string[];
  /** Text of the typed field of this id, where there is one. */
  typed?: string;
}

export interface Completeness {
  groups: { id: FieldGroup; label: string; fields: FieldState[]; recorded: number; asked: number }[];
  recorded: number;
  asked: number;
  /** 0 to 1; of the fields that apply. */
  share: number;
}

/** What is and is not recorded, by group, with the share of what applies. */
export function completeness(
  view: RecordView,
  intervals: readonly Interval[],
  spans: readonly ManoeuvreSpan[],
): Completeness {
  const groups = FIELD_GROUPS.map(({ id, label }) => {
    const fields = FIELDS.filter((field) => field.group === id).map((field) =>
      stateOf(field, view, intervals, spans),
    );
    const asked = fields.filter((field) => field.state !== 'does not apply');
    const recorded = asked.filter((field) => field.state === 'recorded');
    return { id, label, fields, recorded: recorded.length, asked: asked.length };
  });
  const recorded = groups.reduce((sum, group) => sum + group.recorded, 0);
  const asked = groups.reduce((sum, group) => sum + group.asked, 0);
  return { groups, recorded, asked, share: asked === 0 ? 0 : recorded / asked };
}

function stateOf(
  field: FieldInfo,
  view: RecordView,
  intervals: readonly Interval[],
  spans: readonly ManoeuvreSpan[],
): FieldState {
  const entryIds = (field.filledBy ?? []).flatMap((filler) =>
    logged(view, filler.code)
      .filter(({ entry }) => fills(entry, filler))
      .map((e) => e.entryId),
  );
  const typed = Object.hasOwn(view.fields, field.id) ? view.fields[field.id]!.value : undefined;
  const derived = field.derived === undefined ? [] : derivedFrom(field.derived, view, intervals, spans);
  const found = [...new Set([...entryIds, ...(derived ?? [])])];
  const known = found.length > 0 || typed !== undefined || derived === null;
  const applies =
    (field.appliesIf === undefined || field.appliesIf.some((code) => logged(view, code).length > 0)) &&
    (field.appliesIfField === undefined ||
      field.appliesIfField.in.includes(view.fields[field.appliesIfField.field]?.value ?? ''));
  const state = known ? 'recorded' : applies ? 'not recorded' : 'does not apply';
  return { field, state, entryIds: found, ...(typed === undefined ? {} : { typed }) };
}

function fills(entry: Entry, { slot, in: values }: NonNullable<FieldInfo['filledBy']>[number]): boolean {
  if (slot === undefined) return true;
  const value = entry[slot as keyof Entry];
  return value !== undefined && (values === undefined || values.includes(value as string | number));
}

/** Entries that a derived field rests on, empty where it cannot be derived; null: recorded, but by no entry. */
function derivedFrom(
  name: string,
  view: RecordView,
  intervals: readonly Interval[],
  spans: readonly ManoeuvreSpan[],
): string[] | null {
  const known = (wanted: (id: string) => boolean) =>
    intervals.filter((i) => wanted(i.id) && i.value.kind === 'known').flatMap((i) => i.entryIds);
  switch (name) {
    case 'clock-offset':
      return view.clockOffset === null ? [] : null;
    case 'help-to-arrival':
      return known((id) => id.startsWith('help-to-'));
    case 'manoeuvres':
      return spans.flatMap((span) => span.entryIds);
    case 'manoeuvre-ends': {
      const ended = spans.filter(endWasCalled);
      return spans.length > 0 && ended.length === spans.length ? ended.flatMap((span) => span.entryIds) : [];
    }
    case 'manoeuvre-results': {
      const told = spans.filter((span) => span.outcome !== null || span.noEffect.length > 0);
      return spans.length > 0 && told.length === spans.length ? told.flatMap((span) => span.entryIds) : [];
    }
    default:
      return known((id) => id === name);
  }
}
