import { spanValue } from '../facts/intervals.ts';
import { clockText, logged, knownText } from '../facts/logged.ts';
import { endWasCalled, isActOfAMoment } from '../facts/manoeuvres.ts';
import type { ManoeuvreSpan } from '../facts/types.ts';
import { aroundBirth } from '../log/time-bounds.ts';
import { codeInfo } from '../vocabulary/code-info.ts';
import { entryLabel } from '../vocabulary/entry-label.ts';
import { NOT_RECORDED, type Note } from './model.ts';
import { phrase } from './phrase.ts';
import { fromHead, headMs, timeText } from './times.ts';

export type TimelineParts = Pick<Note, 'view' | 'facts' | 'vocabulary'>;

/** One row of the picture: `told` in full for the text alternative, `short` beside the shape. */
export type TimelineItem =
  | { kind: 'interval'; label: string; fromMs: number; toMs: number; told: string; short: string }
  | { kind: 'landmark' | 'person'; label: string; atMs: number; told: string; short: string }
  /** `end: 'called'` was said; 'implied' follows from something said; 'open' is not recorded. */
  | {
      kind: 'bar';
      label: string;
      fromMs: number;
      toMs: number | null;
      end: 'called' | 'implied' | 'open';
      told: string;
      short: string;
    };

const PERSONS = new Set(['help-called', 'role-called', 'role-arrived']);
/** The cord and the placenta come after the emergency and would stretch the picture. */
const AFTERWARDS = new Set(['cord-clamped', 'placenta-delivered']);
const INTERVALS = ['head-to-body', 'declaration-to-body'];

/**
 * Rows of the timeline: intervals, then everything else by its beginning. What lies more than 24 hours from the birth
 * is not drawn: it would make one line of everything else.
 */
export function timelineItems({ view, facts, vocabulary }: TimelineParts): TimelineItem[] {
  const spans: TimelineItem[] = facts.manoeuvres.flatMap((span) => barOf(span, { view, facts, vocabulary }));
  const marks: TimelineItem[] = logged(view).flatMap(({ entry, atMs }) => {
    const group = codeInfo(vocabulary, entry.code).group;
    const isLandmark = group === 'birth' && !AFTERWARDS.has(entry.code);
    if (!isLandmark && !PERSONS.has(entry.code)) return [];
    const kind = isLandmark ? ('landmark' as const) : ('person' as const);
    return [
      {
        kind,
        label: phrase(entry, vocabulary),
        atMs,
        ...timeTexts({ view, facts, vocabulary }, atMs),
      },
    ];
  });
  const onTheDay = (item: TimelineItem) => aroundBirth(view, beginOf(item)) && aroundBirth(view, endOf(item));
  return [
    ...intervalItems({ view, facts, vocabulary }),
    ...[...marks, ...spans].sort((a, b) => beginOf(a) - beginOf(b)),
  ].filter(onTheDay);
}

export const beginOf = (item: TimelineItem): number => ('atMs' in item ? item.atMs : item.fromMs);
export const endOf = (item: TimelineItem): number =>
  'atMs' in item ? item.atMs : (item.toMs ?? item.fromMs);

function timeTexts({ view }: TimelineParts, atMs: number): { told: string; short: string } {
  if (headMs(view) === null) return { told: timeText(view, atMs), short: clockText(view, atMs) };
  const head = fromHead(view, atMs);
  return { told: `${timeText(view, atMs)} (${head})`, short: `${clockText(view, atMs)} (${head})` };
}

function intervalItems({ facts }: TimelineParts): TimelineItem[] {
  return INTERVALS.flatMap((id): TimelineItem[] => {
    const interval = facts.intervals.find((known) => known.id === id);
    if (interval?.value.kind !== 'known') return [];
    const [from, to] = interval.inputs;
    const told = `${knownText(interval.value)}${interval.estimated ? ', estimated' : ''}`;
    return [
      { kind: 'interval', label: interval.label, fromMs: from!.atMs!, toMs: to!.atMs!, told, short: told },
    ];
  });
}

function barOf(span: ManoeuvreSpan, parts: TimelineParts): TimelineItem[] {
  const { view, vocabulary } = parts;
  const { phase: _phase, ...bare } = span.first.entry;
  const label = `${span.number}. ${entryLabel(bare, vocabulary)}`;
  if (span.startMs === null) {
    const { told, short } = timeTexts(parts, span.first.atMs);
    const atMs = span.first.atMs;
    return [
      { kind: 'landmark', label, atMs, told: `start ${NOT_RECORDED}, end ${told}`, short: `end ${short}` },
    ];
  }
  const start = timeTexts(parts, span.startMs);
  if (isActOfAMoment(span)) return [{ kind: 'landmark', label, atMs: span.startMs, ...start }];
  if (span.end.kind === 'not recorded') {
    const ends = `, end ${NOT_RECORDED}`;
    const texts = { told: `${start.told}${ends}`, short: `${start.short}${ends}` };
    return [{ kind: 'bar', label, fromMs: span.startMs, toMs: null, end: 'open', ...texts }];
  }
  const value = spanValue(view, span);
  const length = value.kind === 'known' ? knownText(value) : NOT_RECORDED;
  const called = endWasCalled(span);
  const texts = called
    ? { told: `${start.told}, for ${length}`, short: `for ${length}` }
    : { told: `${start.told}, no end called out, at most ${length}`, short: `at most ${length}` };
  const end = called ? ('called' as const) : ('implied' as const);
  return [{ kind: 'bar', label, fromMs: span.startMs, toMs: span.end.atMs, end, ...texts }];
}
