import { spanValue } from '../../facts/intervals.ts';
import { clockText, knownText } from '../../facts/logged.ts';
import { endWasCalled, isActOfAMoment } from '../../facts/manoeuvres.ts';
import type { ManoeuvreSpan } from '../../facts/types.ts';
import type { EntryView, RecordView } from '../../log/view.ts';
import { choiceText } from '../../slots.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import { entryLabel } from '../../vocabulary/entry-label.ts';
import { NOT_RECORDED, type Block, type Section } from '../model.ts';
import page from '../page.json';
import { spokenWords } from '../spoken-words.ts';
import { fromHead, headMs, timeText } from '../times.ts';
import { entryPairs, fieldPairs } from './page.ts';
import type { NoteParts } from './parts.ts';

/** What disagrees, with both readings; none is chosen. */
export function conflictSection({ facts }: NoteParts): Section[] {
  const items = facts.conflicts
    .filter(({ kind }) => kind !== 'stop without start')
    .map((conflict) => conflict.sentence);
  if (items.length === 0) return [];
  return [
    {
      id: 'conflicts',
      title: 'Entries that do not agree, as recorded',
      blocks: [{ kind: 'list', items }],
    },
  ];
}

/** Manoeuvres in the order in which they were begun, with side, hand and the words as spoken. */
export function manoeuvreSection(parts: NoteParts): Section {
  const { view, facts, vocabulary } = parts;
  const { manoeuvres: spans } = facts;
  const inSpans = new Set(spans.flatMap(({ entryIds }) => entryIds));
  const apart = { ...parts, lines: parts.lines.filter(({ entry }) => !inSpans.has(entry.entryId)) };
  const pairs = [
    ...entryPairs(apart, (group) => page.besideManoeuvres.includes(group)),
    ...fieldPairs(parts, [page.fieldsBesideManoeuvres]),
  ];
  const rows = spans.map((span) => [
    String(span.number),
    nameOf(span, parts),
    span.startMs === null ? NOT_RECORDED : clockAndHead(view, span.startMs),
    endText(view, span, vocabulary),
    lengthOf(view, span),
    resultText(view, span),
    wordsOf(span, parts),
  ]);
  const columns = ['No.', 'Manoeuvre', 'Begun', 'Ended', 'Length', 'Result', 'Said'];
  const told: Block =
    rows.length === 0
      ? { kind: 'text', text: `Manoeuvres: ${NOT_RECORDED}.` }
      : { kind: 'table', table: { columns, rows } };
  return {
    id: 'manoeuvres',
    title: 'Manoeuvres in order',
    blocks: [told, ...(pairs.length > 0 ? [{ kind: 'pairs', pairs } as const] : [])],
  };
}

/** Beside the time from the head a date would say nothing more. */
const clockAndHead = (view: RecordView, atMs: number) =>
  headMs(view) === null ? timeText(view, atMs) : `${clockText(view, atMs)} (${fromHead(view, atMs)})`;

const entriesOf = ({ entryIds }: ManoeuvreSpan, { view }: NoteParts): EntryView[] =>
  view.entries.filter(({ entryId }) => entryIds.includes(entryId));

/** Name with side, kind, direction and hand: all that was called out of it, also in a later breath. */
function nameOf(span: ManoeuvreSpan, parts: NoteParts): string {
  const of = entriesOf(span, parts).filter(({ entry }) => entry.code === span.code);
  const {
    phase: _phase,
    spoken: _spoken,
    ...slots
  } = Object.assign({}, ...of.map(({ entry }) => entry)) as EntryView['entry'];
  return entryLabel(slots, parts.vocabulary);
}

function endText(view: RecordView, span: ManoeuvreSpan, vocabulary: NoteParts['vocabulary']): string {
  const { end } = span;
  if (isActOfAMoment(span)) return 'at that moment';
  if (end.kind === 'not recorded') return NOT_RECORDED;
  const at = clockAndHead(view, end.atMs);
  switch (end.kind) {
    case 'called':
    case 'outcome':
      return at;
    case 'hand-out':
      return `${at}, hand out`;
    case 'delivery':
      return `at most until ${at}, baby delivered`;
    case 'replaced':
    case 'followed':
      return `at most until ${at}, ${codeInfo(vocabulary, end.by).label} begun`;
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
    told.push(`${choiceText('phase', span.outcome)} ${clockText(view, span.outcomeAtMs!)}`);
  for (const { atMs, shared } of span.noEffect) {
    const which = shared ? ', others under way too' : '';
    told.push(`\u201cno effect\u201d ${clockText(view, atMs)}${which}`);
  }
  return told.length > 0 ? told.join('; ') : NOT_RECORDED;
}

/** The words of every call-out that the manoeuvre rests on, or how else it was entered. */
function wordsOf(span: ManoeuvreSpan, parts: NoteParts): string {
  const own = entriesOf(span, parts).filter(({ entry }) => entry.code === span.code);
  const told = own.map((e) => spokenWords(e, parts.view, parts.vocabulary));
  const quoted = told.map((words) => {
    switch (words.kind) {
      case 'said':
        return `\u201c${words.words}\u201d`;
      case 'not spoken':
        return words.how;
      case 'unsure':
        return 'words unsure';
    }
  });
  return [...new Set(quoted)].join('; ');
}
