import type { Entry } from '../../core/entry.ts';
import type { CommandCode } from '../../core/interpret/interpretation.ts';
import type { LogEvent } from '../../core/log/events.ts';
import type { EntryView, QuestionView, RecordView, UtteranceView } from '../../core/log/view.ts';

/** How an entry came to stand as the strip shows it. */
export type Change = 'logged' | 'confirmed' | 'corrected' | 'moved' | 'restored';

/** What a voice asked of the tool; the answer is worked out where it is shown. */
export interface AskedOfTool {
  code: Extract<CommandCode, 'elapsed' | 'clock' | 'read-back'>;
  since?: string;
  atMs: number;
}

/** What the confirmation strip shows: the newest thing that came of a call-out or a touch. */
export type Strip =
  | { kind: 'empty' }
  | { kind: 'logged'; change: Change; entries: Entry[]; atMs: number; seq: number }
  | { kind: 'struck'; entry: Entry; atMs: number; seq: number }
  | { kind: 'question'; question: QuestionView; seq: number }
  | { kind: 'marked'; atMs: number; seq: number }
  | { kind: 'answer'; asked: AskedOfTool; seq: number };

/** The newest of what the strip can show; it stays until something newer comes. */
export function stripOf(view: RecordView): Strip {
  for (let index = view.events.length - 1; index >= 0; index -= 1) {
    const shown = shownBy(view, view.events[index]!);
    if (shown !== null) return shown;
  }
  return { kind: 'empty' };
}

function shownBy(view: RecordView, event: LogEvent): Strip | null {
  const { seq } = event;
  switch (event.kind) {
    case 'entry':
      return together(view, event.entryId, 'logged', seq);
    case 'confirm': {
      const first = event.entryIds[0];
      return first === undefined ? null : together(view, first, 'confirmed', seq);
    }
    case 'replace':
      return one(view, event.entryId, 'corrected', seq);
    case 'shift':
      return one(view, event.entryId, 'moved', seq);
    case 'restore':
      return one(view, event.entryId, 'restored', seq);
    case 'strike': {
      const found = entryOf(view, event.entryId);
      return found && { kind: 'struck', entry: found.entry, atMs: found.atMs, seq };
    }
    case 'question': {
      const question = view.questions.find(({ questionId }) => questionId === event.questionId);
      return question?.state === 'open' ? { kind: 'question', question, seq } : null;
    }
    case 'mark':
      return { kind: 'marked', atMs: event.atMs, seq };
    case 'utterance': {
      const command = event.command;
      if (command?.code !== 'elapsed' && command?.code !== 'clock' && command?.code !== 'read-back')
        return null;
      return {
        kind: 'answer',
        asked: { code: command.code, since: command.since, atMs: event.onsetMs },
        seq,
      };
    }
    default:
      return null;
  }
}

const entryOf = (view: RecordView, entryId: string): EntryView | null =>
  view.entries.find((entry) => entry.entryId === entryId) ?? null;

function one(view: RecordView, entryId: string, change: Change, seq: number): Strip | null {
  const found = entryOf(view, entryId);
  return found && { kind: 'logged', change, entries: [found.entry], atMs: found.atMs, seq };
}

/** Call-outs in one breath are confirmed as one: an operator who said two must see both. */
function together(view: RecordView, entryId: string, change: Change, seq: number): Strip | null {
  const found = entryOf(view, entryId);
  if (found === null) return null;
  const breath = view.utterances.find(({ utteranceId }) => utteranceId === found.utteranceId);
  const ids = breath === undefined || breath.entryIds.length === 0 ? [entryId] : breath.entryIds;
  const entries = ids.flatMap((id) => {
    const entry = entryOf(view, id);
    return entry === null || entry.status === 'struck' ? [] : [entry.entry];
  });
  return {
    kind: 'logged',
    change,
    entries: entries.length > 0 ? entries : [found.entry],
    atMs: found.atMs,
    seq,
  };
}

/** The newest utterance, where nobody could make anything of it and nothing newer has been shown. */
export function notUnderstood(view: RecordView, shown: Strip): UtteranceView | null {
  const newest = view.utterances.at(-1);
  if (newest?.outcome !== 'unrecognised' || newest.entryIds.length > 0) return null;
  return shown.kind === 'empty' || newest.seq > shown.seq ? newest : null;
}
