import type { Entry } from '../entry.ts';
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
  /** What a call-out of the bare name is: an act of that moment, or to be asked about. Else a beginning. */
  named?: 'moment' | 'asked';
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

/** What the bare name of a manoeuvre means, where that is not simply its beginning. */
export const isNamedOnly = (code: string): 'moment' | 'asked' | undefined => RULES.get(code)?.named;

/** An act such as a cut: it has a time and no length. */
export const isActOfAMoment = (span: ManoeuvreSpan): boolean =>
  RULES.get(span.code)?.act === true || isMomentSoFar(span);

/** A bare call-out of what is an act of a moment, as long as nobody called out an end of it. */
const isMomentSoFar = ({ first, end }: ManoeuvreSpan): boolean =>
  isMoment(first.entry) && end.kind === 'called' && end.entryId === first.entryId;

const isMoment = ({ code, phase }: Entry): boolean =>
  phase === undefined && RULES.get(code)?.named === 'moment';

/** Whether somebody called out that it ended: itself, its result, or the hand that did it taken out. */
export const endWasCalled = ({ end }: ManoeuvreSpan): boolean =>
  end.kind === 'called' || end.kind === 'outcome' || end.kind === 'hand-out';

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
  const entries = logged(view);
  const walk: Walk = {
    view,
    spans: [],
    maybeOpen: [],
    conflicts: [],
    delivered: null,
    together: namedTogether(entries),
  };
  for (const entry of entries) step(walk, entry);
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
  /** Codes that were begun in one breath. */
  together: ReadonlyMap<string, ReadonlySet<string>>;
}

/** Entries of one utterance, or of one moment where they were touched or typed. */
const breathOf = ({ utteranceId, atMs }: EntryView): string => utteranceId ?? `at ${atMs}`;

function namedTogether(entries: readonly EntryView[]): Walk['together'] {
  const found = new Map<string, Set<string>>();
  for (const e of entries) {
    if (!begins(e.entry)) continue;
    const codes = found.get(breathOf(e)) ?? new Set();
    found.set(breathOf(e), codes.add(e.entry.code));
  }
  return found;
}

const begins = ({ phase, decision }: Entry): boolean =>
  (phase === undefined || phase === 'start') && decision === undefined;

const isOpen = (span: ManoeuvreSpan): boolean => span.end.kind === 'not recorded';
/** A long record has thousands of spans, of which a handful is open. */
function openSpans(walk: Walk): readonly ManoeuvreSpan[] {
  walk.maybeOpen = walk.maybeOpen.filter(isOpen);
  return walk.maybeOpen;
}

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
  const rule = RULES.get(code);
  const open = openSpans(walk).findLast((span) => span.code === code && !otherHand(span, e));
  if (open !== undefined && !changes(open, e)) return join(open, e);
  const then = { atMs: e.atMs, entryId: e.entryId, by: code };
  if (open !== undefined) open.end = { kind: 'replaced', ...then };
  const together = walk.together.get(breathOf(e));
  for (const other of openSpans(walk)) {
    const { endedBy, internal } = RULES.get(other.code)!;
    if (endedBy?.includes(code)) other.end = { kind: 'replaced', ...then };
    else if (rule?.internal && internal && other.code !== code && !together?.has(other.code))
      other.end = { kind: 'followed', ...then };
  }
  const instant = rule?.act === true || isMoment(e.entry);
  const end: SpanEnd = instant
    ? { kind: 'called', atMs: e.atMs, entryId: e.entryId }
    : { kind: 'not recorded' };
  add(walk, newSpan(e, e.atMs, end));
}

const differ = <T>(was: T | undefined, now: T | undefined) =>
  was !== undefined && now !== undefined && was !== now;
/** One hand may be inside while the other goes in. */
const otherHand = ({ code, first }: ManoeuvreSpan, { entry }: EntryView): boolean =>
  RULES.get(code)?.hand === true && differ(first.entry.hand, entry.hand);

/** Pressure from the other side or of the other kind, a turn the other way or by the other hand: a span of its own. */
function changes({ first }: ManoeuvreSpan, { entry }: EntryView): boolean {
  return (['side', 'style', 'direction', 'hand', 'babySide'] as const).some((slot) =>
    differ<unknown>(first.entry[slot], entry[slot]),
  );
}

/** The span that a call-out of an end or a result is about: what is under way, else the last that nobody ended. */
function ended(walk: Walk, e: EntryView): ManoeuvreSpan | undefined {
  const { code } = e.entry;
  const mine = (span: ManoeuvreSpan) => span.code === code && !otherHand(span, e);
  return (
    openSpans(walk).findLast(mine) ??
    walk.spans.findLast((span) => mine(span) && (span.end.kind !== 'called' || isMomentSoFar(span)))
  );
}

function stop(walk: Walk, e: EntryView): void {
  const { code } = e.entry;
  const end: SpanEnd = { kind: 'called', atMs: e.atMs, entryId: e.entryId };
  // Called out later than what ended it before, a result or the next manoeuvre: this is the exact end.
  const span = ended(walk, e);
  if (span === undefined) {
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
  if (RULES.get(code)?.hand === true) handOut(walk, e);
}

/** A hand taken out ends what it was doing; what the other hand may be doing goes on while that one is inside. */
function handOut(walk: Walk, e: EntryView): void {
  const left = openSpans(walk).filter(({ code }) => RULES.get(code)?.hand === true);
  if (e.entry.hand === undefined || e.entry.hand === 'both') {
    for (const span of left) span.end = { kind: 'called', atMs: e.atMs, entryId: e.entryId };
  } else if (left.length > 0) return;
  for (const other of openSpans(walk)) {
    if (RULES.get(other.code)?.internal === true)
      other.end = { kind: 'hand-out', atMs: e.atMs, entryId: e.entryId };
  }
}

function conclude(walk: Walk, e: EntryView, outcome: 'done' | 'failed' | 'succeeded'): void {
  const end: SpanEnd = { kind: 'outcome', atMs: e.atMs, entryId: e.entryId };
  const { code } = e.entry;
  const known = ended(walk, e) ?? walk.spans.findLast((s) => s.code === code && s.outcome === null);
  // A second result is of a second try, whose beginning nobody called out.
  const span =
    known?.outcome === null ? known : newSpan(e, RULES.get(code)?.act === true ? e.atMs : null, end);
  if (span === known) join(span, e);
  else add(walk, span);
  // "Off", then "it failed": the end that was called out stays.
  if (span.end.kind !== 'called' || isMomentSoFar(span)) span.end = end;
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
