import type { EntryView, RecordView } from '../log/view.ts';
import { clockText, logged } from './logged.ts';
import rules from './manoeuvres.json';
import type { Conflict, ManoeuvreSpan, SpanEnd } from './types.ts';

interface SpanRule {
  code: string;
  /** As it stands in a sentence. */
  name: string;
  endedBy?: string[];
  pressure?: boolean;
  act?: boolean;
  hand?: boolean;
  internal?: boolean;
}

const RULES = new Map((rules.spans as SpanRule[]).map((rule) => [rule.code, rule]));

export const isManoeuvre = (code: string): boolean => RULES.has(code);
export const isPressure = (code: string): boolean => RULES.get(code)?.pressure === true;
export const isInternal = (code: string): boolean => {
  const rule = RULES.get(code);
  return rule?.internal === true || rule?.hand === true;
};
/** Acts of a moment, and the hand that does the work, are no manoeuvre that lasts. */
export const isLasting = (code: string): boolean => {
  const rule = RULES.get(code);
  return rule !== undefined && rule.act !== true && rule.hand !== true;
};

/** An act such as a cut: it has a time and no length. */
export const isActOfAMoment = ({ code }: ManoeuvreSpan): boolean => RULES.get(code)?.act === true;

const capital = (words: string) => words.replace(/^./, (letter) => letter.toUpperCase());

export interface ManoeuvreFacts {
  spans: ManoeuvreSpan[];
  conflicts: Conflict[];
}

/**
 * Spans of all manoeuvres from the entries that stand, in order of their beginning.
 * A bare call begins one, as "start" does; a second call while it is under way belongs to it.
 */
export function manoeuvres(view: RecordView): ManoeuvreFacts {
  const walk: Walk = { view, spans: [], maybeOpen: [], conflicts: [], delivered: null };
  for (const entry of logged(view)) step(walk, entry);
  const spans = walk.spans.sort((a, b) => beganMs(a) - beganMs(b));
  let nextStartMs: number | null = null;
  for (const [index, span] of [...spans.entries()].reverse()) {
    span.number = index + 1;
    span.nextStartMs = nextStartMs;
    nextStartMs = span.startMs ?? nextStartMs;
  }
  return { spans, conflicts: walk.conflicts };
}

const beganMs = (span: ManoeuvreSpan): number => span.startMs ?? span.first.atMs;

interface Walk {
  view: RecordView;
  spans: ManoeuvreSpan[];
  /** The open ones among them, and some that have ended since they were asked for last. */
  maybeOpen: ManoeuvreSpan[];
  conflicts: Conflict[];
  delivered: EntryView | null;
}

const isOpen = (span: ManoeuvreSpan): boolean => span.end.kind === 'not recorded';
/** A long record has thousands of spans, of which a handful is open. */
function openSpans(walk: Walk): readonly ManoeuvreSpan[] {
  walk.maybeOpen = walk.maybeOpen.filter(isOpen);
  return walk.maybeOpen;
}
const openSpan = (walk: Walk, code: string) => openSpans(walk).findLast((s) => s.code === code);

function add(walk: Walk, span: ManoeuvreSpan): void {
  walk.spans.push(span);
  walk.maybeOpen.push(span);
}

function step(walk: Walk, e: EntryView): void {
  const { code } = e.entry;
  if (code === 'body-delivered') return deliver(walk, e);
  if (code === 'no-effect') return noEffect(walk, e);
  const rule = RULES.get(code);
  if (rule === undefined || e.entry.decision !== undefined) return;
  if (walk.delivered !== null && e.entry.phase !== 'stop') {
    walk.conflicts.push({
      id: `after-birth-${e.entryId}`,
      kind: 'order',
      sentence: `${capital(rule.name)} is timed ${clockText(walk.view, e.atMs)}, after the baby was delivered at ${clockText(walk.view, walk.delivered.atMs)}.`,
      entryIds: [walk.delivered.entryId, e.entryId],
    });
  }
  switch (e.entry.phase) {
    case undefined:
    case 'start':
      return begin(walk, e);
    case 'stop':
      return stop(walk, e);
    case 'done':
    case 'failed':
    case 'succeeded':
      return conclude(walk, e, e.entry.phase);
  }
}

function newSpan(e: EntryView, startMs: number | null, end: SpanEnd): ManoeuvreSpan {
  return {
    number: 0,
    code: e.entry.code,
    first: e,
    startMs,
    end,
    outcome: null,
    outcomeAtMs: null,
    noEffect: [],
    entryIds: [e.entryId],
    nextStartMs: null,
    estimated: e.estimated,
  };
}

function join(span: ManoeuvreSpan, e: EntryView): void {
  span.entryIds.push(e.entryId);
  span.estimated ||= e.estimated;
}

function begin(walk: Walk, e: EntryView): void {
  const { code } = e.entry;
  const open = openSpan(walk, code);
  if (open !== undefined && !changesSide(open, e)) return join(open, e);
  if (open !== undefined) open.end = { kind: 'replaced', atMs: e.atMs, entryId: e.entryId, by: code };
  for (const other of openSpans(walk)) {
    if (RULES.get(other.code)?.endedBy?.includes(code)) {
      other.end = { kind: 'replaced', atMs: e.atMs, entryId: e.entryId, by: code };
    }
  }
  const instant = RULES.get(code)?.act === true;
  const end: SpanEnd = instant
    ? { kind: 'called', atMs: e.atMs, entryId: e.entryId }
    : { kind: 'not recorded' };
  add(walk, newSpan(e, e.atMs, end));
}

/** Pressure from the other side, or of the other kind, is a span of its own. */
function changesSide(span: ManoeuvreSpan, { entry }: EntryView): boolean {
  const { side, style } = span.first.entry;
  const other = <T>(was: T | undefined, now: T | undefined) =>
    was !== undefined && now !== undefined && was !== now;
  return other(side, entry.side) || other(style, entry.style);
}

function stop(walk: Walk, e: EntryView): void {
  const { code } = e.entry;
  const end: SpanEnd = { kind: 'called', atMs: e.atMs, entryId: e.entryId };
  // "Can't reach the arm", then "hand off the arm": the outcome ended it before; the stop is the exact end.
  const span =
    openSpan(walk, code) ?? walk.spans.findLast((s) => s.code === code && s.end.kind === 'outcome');
  if (span === undefined) {
    const late = walk.spans.findLast((s) => s.code === code && s.end.kind !== 'called');
    if (late !== undefined) return join(late, e);
    walk.conflicts.push({
      id: `stop-${e.entryId}`,
      kind: 'stop without start',
      sentence: `The end of ${RULES.get(code)!.name} was called out at ${clockText(walk.view, e.atMs)}; its start is not recorded.`,
      entryIds: [e.entryId],
    });
    add(walk, newSpan(e, null, end));
  } else {
    join(span, e);
    span.end = end;
  }
  if (RULES.get(code)?.hand === true) {
    for (const other of openSpans(walk)) {
      if (RULES.get(other.code)?.internal === true) {
        other.end = { kind: 'hand-out', atMs: e.atMs, entryId: e.entryId };
      }
    }
  }
}

function conclude(walk: Walk, e: EntryView, outcome: 'done' | 'failed' | 'succeeded'): void {
  const end: SpanEnd = { kind: 'outcome', atMs: e.atMs, entryId: e.entryId };
  let span = openSpan(walk, e.entry.code);
  if (span === undefined) {
    span = newSpan(e, RULES.get(e.entry.code)?.act === true ? e.atMs : null, end);
    add(walk, span);
  } else {
    join(span, e);
  }
  span.end = end;
  span.outcome = outcome;
  span.outcomeAtMs = e.atMs;
}

function noEffect(walk: Walk, e: EntryView): void {
  const under = openSpans(walk).filter((span) => isLasting(span.code));
  for (const span of under) {
    span.noEffect.push({ atMs: e.atMs, entryId: e.entryId, shared: under.length > 1 });
    join(span, e);
  }
}

function deliver(walk: Walk, e: EntryView): void {
  walk.delivered ??= e;
  for (const span of openSpans(walk)) {
    span.end = { kind: 'delivery', atMs: e.atMs, entryId: e.entryId };
  }
}

export interface UnderWay {
  code: string;
  first: EntryView;
  sinceMs: number;
  forMs: number;
  noEffect: boolean;
}

/** Manoeuvres under way at a moment, newest first, with how long they have been. For the live screen. */
export function underWay(view: RecordView, atMs: number): UnderWay[] {
  const until = { ...view, entries: view.entries.filter((e) => e.atMs <= atMs) };
  return manoeuvres(until)
    .spans.filter((span) => isOpen(span) && span.startMs !== null && isLasting(span.code))
    .map((span) => ({
      code: span.code,
      first: span.first,
      sinceMs: span.startMs!,
      forMs: atMs - span.startMs!,
      noEffect: span.noEffect.length > 0,
    }))
    .reverse();
}
