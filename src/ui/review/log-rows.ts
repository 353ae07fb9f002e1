import type { EntryView, QuestionView, RecordView, UtteranceView } from '../../core/log/view.ts';

/** One line of the review: an entry with what it was heard from, or what was heard and gave no entry. */
export type LogRow =
  | { kind: 'entry'; id: string; atMs: number; entry: EntryView; utterance?: UtteranceView }
  | { kind: 'heard'; id: string; atMs: number; utterance: UtteranceView; question?: QuestionView }
  | { kind: 'question'; id: string; atMs: number; question: QuestionView };

export const FILTERS = ['all', 'entries', 'not-understood', 'open', 'changed', 'later'] as const;
export type LogFilter = (typeof FILTERS)[number];

const isChanged = (row: LogRow): boolean =>
  row.kind === 'entry' && (row.entry.changes.length > 0 || row.entry.confirmedBy !== undefined);

const PASSES: Record<LogFilter, (row: LogRow) => boolean> = {
  all: () => true,
  entries: (row) => row.kind === 'entry',
  'not-understood': (row) => row.kind === 'heard' && row.utterance.outcome === 'unrecognised',
  open: (row) =>
    row.kind !== 'entry' && row.kind === 'question'
      ? row.question.state === 'open'
      : row.kind === 'heard' && row.question?.state === 'open',
  changed: isChanged,
  later: (row) => row.kind === 'entry' && row.entry.addedLater,
};

/**
 * All entries, struck ones too, and every utterance that no entry came of, in time order. An
 * utterance that an entry came of is shown with that entry.
 */
export function logRows(view: RecordView): LogRow[] {
  const utterances = new Map(view.utterances.map((utterance) => [utterance.utteranceId, utterance]));
  const questions = new Map(view.questions.map((question) => [question.questionId, question]));
  const entries = view.entries.map((entry): LogRow => ({
    kind: 'entry',
    id: entry.entryId,
    atMs: entry.atMs,
    entry,
    utterance: entry.utteranceId === undefined ? undefined : utterances.get(entry.utteranceId),
  }));
  const heard = view.utterances
    .filter(({ entryIds }) => entryIds.length === 0)
    .map((utterance): LogRow => {
      const question = utterance.questionId === undefined ? undefined : questions.get(utterance.questionId);
      return { kind: 'heard', id: utterance.utteranceId, atMs: utterance.onsetMs, utterance, question };
    });
  const silent = view.questions
    .filter(
      ({ utteranceId, state }) => state !== 'confirmed' && !(utteranceId && utterances.has(utteranceId)),
    )
    .map((question): LogRow => ({
      kind: 'question',
      id: question.questionId,
      atMs: question.atMs,
      question,
    }));
  return [...entries, ...heard, ...silent].sort((a, b) => a.atMs - b.atMs);
}

export const filterRows = (rows: readonly LogRow[], filter: LogFilter): LogRow[] =>
  rows.filter(PASSES[filter]);

export const countOf = (rows: readonly LogRow[], filter: LogFilter): number =>
  filterRows(rows, filter).length;

/** Rows that are made together; a list of up to eight times as many is one block. */
const BLOCK = 25;
const WHOLE = 8 * BLOCK;

/** The rows in blocks, `first` being the number of rows before each; one block where the list is short. */
export function blocksOf(rows: readonly LogRow[]): { first: number; rows: readonly LogRow[] }[] {
  if (rows.length <= WHOLE) return [{ first: 0, rows }];
  const blocks = [];
  for (let first = 0; first < rows.length; first += BLOCK) {
    blocks.push({ first, rows: rows.slice(first, first + BLOCK) });
  }
  return blocks;
}

/** The number of the block that holds a row, or -1. */
export function blockOf(rows: readonly LogRow[], id: string): number {
  const at = rows.findIndex((row) => row.id === id);
  return at < 0 || rows.length <= WHOLE ? Math.min(at, 0) : Math.floor(at / BLOCK);
}
