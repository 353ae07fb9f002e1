import type { EntryView, RecordView } from '../log/view.ts';
import { clockText, knownLength, logged, roleInWords, timeMarks } from './logged.ts';
import { endWasCalled, isInternal, isPressure } from './manoeuvres.ts';
import type { Interval, IntervalInput, IntervalValue, ManoeuvreSpan } from './types.ts';

/** One end of an interval: the entry, or why there is none. */
type End =
  | { kind: 'one'; label: string; entry: EntryView }
  | { kind: 'none'; label: string }
  | { kind: 'several'; label: string; entries: EntryView[] };

/** The only entry of a code: what can happen once only. */
function single(view: RecordView, code: string, label: string): End {
  const [entry, ...more] = logged(view, code);
  if (entry === undefined) return { kind: 'none', label };
  return more.length > 0
    ? { kind: 'several', label, entries: [entry, ...more] }
    : { kind: 'one', label, entry };
}

/** The first entry of a code: what may be said again. */
function first(entries: readonly EntryView[], label: string): End {
  const [entry] = entries;
  return entry === undefined ? { kind: 'none', label } : { kind: 'one', label, entry };
}

const entriesOf = (end: End): EntryView[] =>
  end.kind === 'one' ? [end.entry] : end.kind === 'several' ? end.entries : [];

function between(view: RecordView, id: string, label: string, from: End, to: End): Interval {
  const entries = [...entriesOf(from), ...entriesOf(to)];
  const marks = timeMarks(view, entries);
  return {
    id,
    label,
    value: valueBetween(view, from, to),
    formula: `${to.label} \u2212 ${from.label}`,
    inputs: [inputOf(from), inputOf(to)],
    entryIds: entries.map((e) => e.entryId),
    estimated: marks.includes('estimated'),
    marks,
  };
}

function inputOf(end: End): IntervalInput {
  const entries = entriesOf(end);
  const atMs = end.kind === 'one' ? end.entry.atMs : null;
  return { label: end.label, atMs, entryIds: entries.map((e) => e.entryId) };
}

function valueBetween(view: RecordView, from: End, to: End): IntervalValue {
  for (const end of [from, to]) {
    if (end.kind === 'none') return { kind: 'not recorded', missing: end.label };
  }
  for (const end of [from, to]) {
    if (end.kind !== 'several') continue;
    const times = end.entries.map((e) => clockText(view, e.atMs)).join(' and ');
    return { kind: 'conflict', why: `${end.label} is recorded ${end.entries.length} times (${times})` };
  }
  if (from.kind !== 'one' || to.kind !== 'one') return { kind: 'not recorded', missing: from.label };
  const [fromMs, toMs] = [from.entry.atMs, to.entry.atMs];
  if (toMs < fromMs) {
    const why = `${to.label} (${clockText(view, toMs)}) is timed before ${from.label} (${clockText(view, fromMs)})`;
    return { kind: 'conflict', why };
  }
  return knownLength(view, fromMs, toMs);
}

/** Every interval of the record. Those of persons and manoeuvres are as many as were called out. */
export function intervals(view: RecordView, spans: readonly ManoeuvreSpan[]): Interval[] {
  const head = single(view, 'head-delivered', 'head delivered');
  const body = single(view, 'body-delivered', 'baby delivered');
  const declared = first(logged(view, 'dystocia-declared'), 'dystocia declared');
  const inside = first(
    logged(view, 'internal-entry').filter((e) => e.entry.phase !== 'stop'),
    'hand inside',
  );
  const wasInside = spans.some((span) => isInternal(span.code));
  return [
    between(view, 'head-to-body', 'Head to body', head, body),
    between(view, 'head-to-declaration', 'Head to declaration', head, declared),
    between(view, 'declaration-to-body', 'Declaration to body', declared, body),
    ...(wasInside
      ? [between(view, 'internal-entry-to-body', 'First internal entry to delivery', inside, body)]
      : []),
    ...arrivals(view),
    ...pressures(view, spans),
  ];
}

/** Help called to each arrival, and each role's own call to its first arrival. */
function arrivals(view: RecordView): Interval[] {
  const help = first(logged(view, 'help-called'), 'help called');
  const found: Interval[] = [];
  const counts = new Map<string, number>();
  for (const arrival of logged(view, 'role-arrived')) {
    const role = arrival.entry.role ?? '';
    const count = (counts.get(role) ?? 0) + 1;
    counts.set(role, count);
    const who = `${roleInWords(role)}${count > 1 ? ` (${count})` : ''}`;
    const end: End = { kind: 'one', label: `${who} arrived`, entry: arrival };
    found.push(between(view, `help-to-${role}-${count}`, `Help called to arrival: ${who}`, help, end));
  }
  const calls = logged(view, 'role-called');
  for (const role of new Set(calls.map((e) => e.entry.role ?? ''))) {
    const who = roleInWords(role);
    const called = first(
      calls.filter((e) => (e.entry.role ?? '') === role),
      `${who} called`,
    );
    const arrived = first(
      logged(view, 'role-arrived').filter((e) => (e.entry.role ?? '') === role),
      `${who} arrived`,
    );
    found.push(between(view, `called-to-${role}`, `Called to arrival: ${who}`, called, arrived));
  }
  return found;
}

/** Length of a manoeuvre that has a start and an end, by whatever its end is known. */
export function spanValue(view: RecordView, span: ManoeuvreSpan): IntervalValue {
  if (span.startMs === null) return { kind: 'not recorded', missing: 'start' };
  if (span.end.kind === 'not recorded') return { kind: 'not recorded', missing: 'end' };
  const toMs = span.end.atMs;
  return knownLength(view, span.startMs, toMs);
}

function spanInputs(span: ManoeuvreSpan): IntervalInput[] {
  const endMs = span.end.kind === 'not recorded' ? null : span.end.atMs;
  const endIds = span.end.kind === 'not recorded' ? [] : [span.end.entryId];
  return [
    { label: 'start', atMs: span.startMs, entryIds: [span.first.entryId] },
    { label: 'end', atMs: endMs, entryIds: endIds },
  ];
}

function pressures(view: RecordView, spans: readonly ManoeuvreSpan[]): Interval[] {
  return spans
    .filter((span) => isPressure(span.code))
    .map((span, index) => ({
      ...ofSpan(view, span),
      id: `pressure-${index + 1}`,
      label: `Suprapubic pressure, span ${index + 1}`,
    }));
}

function ofSpan(view: RecordView, span: ManoeuvreSpan): Omit<Interval, 'id' | 'label'> {
  const entries = logged(view, span.code).filter((e) => span.entryIds.includes(e.entryId));
  const marks = timeMarks(view, entries);
  const value = spanValue(view, span);
  if (value.kind === 'known' && !endWasCalled(span)) marks.push('at most: no end called out');
  return {
    value,
    formula: `${END_NAMES[span.end.kind]} \u2212 start`,
    inputs: spanInputs(span),
    entryIds: span.entryIds,
    estimated: marks.includes('estimated'),
    marks,
  };
}

const END_NAMES: Record<ManoeuvreSpan['end']['kind'], string> = {
  called: 'end',
  outcome: 'result',
  delivery: 'baby delivered',
  'hand-out': 'hand out',
  replaced: 'start of what took its place',
  followed: 'start of the next internal manoeuvre',
  'not recorded': 'end',
};
