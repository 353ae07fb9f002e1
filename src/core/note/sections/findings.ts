import { spanValue } from '../../facts/intervals.ts';
import { logged, minutesSeconds, knownText, secondsBetween } from '../../facts/logged.ts';
import { endWasCalled, isActOfAMoment, isLasting } from '../../facts/manoeuvres.ts';
import type { ManoeuvreSpan } from '../../facts/types.ts';
import type { RecordView } from '../../log/view.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import { entryLabel } from '../../vocabulary/entry-label.ts';
import { choiceText } from '../../slots.ts';
import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { NOT_RECORDED, type Pair, type Section } from '../model.ts';
import { fromHead, timeText } from '../times.ts';
import type { NoteParts } from './parts.ts';

/** What disagrees, with both readings. */
export function conflictSection({ facts }: NoteParts): Section {
  const items = facts.conflicts.map((conflict) => conflict.sentence);
  const text =
    'Shown as recorded and not resolved. Strike out or correct the entry that is wrong, with a reason.';
  return {
    id: 'conflicts',
    title: 'Entries that do not agree',
    blocks:
      items.length === 0
        ? [{ kind: 'text', text: 'None found.' }]
        : [
            { kind: 'list', items },
            { kind: 'text', text },
          ],
  };
}

/** Manoeuvres in the order in which they were begun. */
export function manoeuvreSection({ view, facts, vocabulary }: NoteParts): Section {
  const { manoeuvres: spans } = facts;
  if (spans.length === 0) {
    const text = `Manoeuvres: ${NOT_RECORDED}.`;
    return { id: 'manoeuvres', title: 'Manoeuvres in order', blocks: [{ kind: 'text', text }] };
  }
  const rows = spans.map((span) => [
    String(span.number),
    nameOf(span, vocabulary),
    span.startMs === null ? NOT_RECORDED : clockAndHead(view, span.startMs),
    endText(view, span, vocabulary),
    lengthOf(view, span),
    span.startMs === null || span.nextStartMs === null
      ? 'none followed'
      : minutesSeconds(secondsBetween(view, span.startMs, span.nextStartMs)),
    resultText(view, span),
  ]);
  const columns = ['No.', 'Manoeuvre', 'Start', 'End', 'Length', 'To next start', 'Result'];
  const text =
    'In brackets: minutes and seconds from the birth of the head. A length is "at most" where no end was called out.';
  return {
    id: 'manoeuvres',
    title: 'Manoeuvres in order',
    blocks: [
      { kind: 'text', text },
      { kind: 'table', table: { columns, rows } },
    ],
  };
}

const clockAndHead = (view: RecordView, atMs: number) => `${timeText(view, atMs)} (${fromHead(view, atMs)})`;

/** Name, side and kind as called out, with the plain description of what is done. */
function nameOf({ first }: ManoeuvreSpan, vocabulary: Vocabulary): string {
  const { phase: _phase, ...bare } = first.entry;
  const { description } = codeInfo(vocabulary, first.entry.code);
  const name = entryLabel(bare, vocabulary);
  return description === '' || !isLasting(first.entry.code) ? name : `${name}. ${description}`;
}

function endText(view: RecordView, span: ManoeuvreSpan, vocabulary: Vocabulary): string {
  const { end } = span;
  if (isActOfAMoment(span)) return 'no length';
  if (end.kind === 'not recorded') return NOT_RECORDED;
  const at = clockAndHead(view, end.atMs);
  switch (end.kind) {
    case 'called':
      return at;
    case 'outcome':
      return `${at}, with the result`;
    case 'delivery':
      return `not called out, baby delivered ${at}`;
    case 'hand-out':
      return `not called out, hand out ${at}`;
    case 'replaced':
    case 'followed':
      return `not called out, ${codeInfo(vocabulary, end.by).label} begun ${at}`;
  }
}

function lengthOf(view: RecordView, span: ManoeuvreSpan): string {
  if (isActOfAMoment(span)) return 'no length';
  const value = spanValue(view, span);
  if (value.kind !== 'known') return NOT_RECORDED;
  const length = knownText(value);
  const until = endWasCalled(span) ? length : `at most ${length}`;
  return span.estimated ? `${until}, estimated` : until;
}

function resultText(view: RecordView, span: ManoeuvreSpan): string {
  const told: string[] = [];
  if (span.outcome !== null)
    told.push(`${choiceText('phase', span.outcome)} (${timeText(view, span.outcomeAtMs!)})`);
  for (const { atMs, shared } of span.noEffect) {
    const which = shared ? ', while others were under way too' : '';
    told.push(`\u201cno effect\u201d called out (${timeText(view, atMs)}${which})`);
  }
  return told.length > 0 ? told.join('; ') : NOT_RECORDED;
}

/** Side facts as recorded, every statement, none chosen. */
export function sidesSection({ view, vocabulary }: NoteParts): Section {
  const told = (label: string, code: string, show: (words: string) => boolean = () => true): Pair => {
    const entries = logged(view, code).filter((e) =>
      show(code === 'suprapubic-pressure' ? (e.entry.side ?? '') : code),
    );
    const values = entries.map(({ entry, atMs }) => {
      const { phase: _phase, ...bare } = entry;
      return `${sideWords(bare, vocabulary)} (${timeText(view, atMs)})`;
    });
    return { label, value: values.length > 0 ? values.join('; ') : NOT_RECORDED };
  };
  const pairs = [
    told('Position of the head at birth', 'fetal-position'),
    told('Head faced, after it turned', 'head-faces'),
    told("Baby's back", 'fetal-back'),
    told('Anterior shoulder', 'anterior-shoulder'),
  ];
  if (logged(view, 'suprapubic-pressure').length > 0) {
    pairs.push(told('Suprapubic pressure given from', 'suprapubic-pressure', (side) => side !== ''));
  }
  return { id: 'sides', title: 'Sides', blocks: [{ kind: 'pairs', pairs }] };
}

function sideWords(entry: NoteParts['lines'][number]['entry']['entry'], vocabulary: Vocabulary): string {
  if (entry.position) return entry.position;
  if (entry.babySide) return `baby's ${entry.babySide}`;
  return entry.side ? `mother's ${entry.side}` : entryLabel(entry, vocabulary);
}
