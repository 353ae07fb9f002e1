import type { CommandCode } from '../interpret/interpretation.ts';
import type { LogEvent } from '../log/events.ts';
import type { EntryView, QuestionView, RecordView } from '../log/view.ts';

/** How an entry came to stand as the strip shows it. `stays`: nobody wanted it struck out after all. */
export type Change = 'logged' | 'confirmed' | 'corrected' | 'moved' | 'restored' | 'stays';

/** What a voice asked of the tool; the answer is worked out where it is shown. */
export interface AskedOfTool {
  code: Extract<CommandCode, 'elapsed' | 'clock' | 'read-back' | 'next-question'>;
  since?: string;
  atMs: number;
}

/** What the confirmation strip shows: the newest thing that came of a call-out or a touch. */
export type Shown =
  | { kind: 'empty' }
  | { kind: 'paused'; seq: number }
  | { kind: 'logged'; change: Change; entries: EntryView[]; atMs: number; seq: number }
  | { kind: 'struck'; entries: EntryView[]; seq: number }
  /** Asked: strip, voice and pad answer it, the voice until `untilMs`. */
  | { kind: 'question'; question: QuestionView; fromMs: number; untilMs: number; seq: number }
  | { kind: 'withdrawn'; question: QuestionView; seq: number }
  | { kind: 'marked'; markId: string; atMs: number; seq: number }
  | { kind: 'answer'; asked: AskedOfTool; seq: number };

/**
 * For how long a question stays on the strip, and for exactly as long a voice may answer it; then it is open, and
 * counted. So long, too, the answer to "elapsed" stands, and what comes during a pause. Project choice, no source: a
 * "yes" said to somebody else minutes later must not log anything.
 */
export const SHOWN_FOR_MS = 30_000;

/**
 * What the strip shows at `atMs`, or showed then: what the voice answers, and what "undo" takes back, is this and
 * nothing else. What was made later is not looked at.
 */
export function shownAt(view: RecordView, atMs: number): Shown {
  const pause = pauseAt(view, atMs);
  for (let index = view.events.length - 1; index >= 0; index -= 1) {
    const event = view.events[index]!;
    if (event.madeAtMs > atMs) continue;
    if (event === pause) return { kind: 'paused', seq: event.seq };
    // During a pause the strip says so again soon, whatever was touched meanwhile.
    if (pause !== null && atMs > event.madeAtMs + SHOWN_FOR_MS) continue;
    const shown = shownBy(view, index, atMs);
    if (shown !== null) return shown;
  }
  return { kind: 'empty' };
}

/** The pause that is on at `atMs`. */
function pauseAt(view: RecordView, atMs: number): LogEvent | null {
  for (let index = view.events.length - 1; index >= 0; index -= 1) {
    const event = view.events[index]!;
    if (event.madeAtMs > atMs) continue;
    if (event.kind === 'pause') return firstOfPause(view, index);
    if (event.kind === 'resume' || event.kind === 'finish') return null;
  }
  return null;
}

/** "Pause" said again during a pause begins no other one. */
function firstOfPause(view: RecordView, index: number): LogEvent {
  let first = view.events[index]!;
  for (let before = index - 1; before >= 0; before -= 1) {
    const event = view.events[before]!;
    if (event.kind === 'resume' || event.kind === 'finish') break;
    if (event.kind === 'pause') first = event;
  }
  return first;
}

function shownBy(view: RecordView, index: number, atMs: number): Shown | null {
  const event = view.events[index]!;
  const { seq } = event;
  switch (event.kind) {
    case 'entry':
      return together(view, event.entryId, 'logged', seq, atMs);
    case 'confirm': {
      const first = event.entryIds[0];
      return first === undefined ? null : together(view, first, 'confirmed', seq, atMs);
    }
    case 'replace':
      return logged(view, [event.entryId], 'corrected', seq);
    case 'shift':
      return logged(view, [event.entryId], 'moved', seq);
    case 'restore':
      return logged(view, idsOfOneTouch(view, index), 'restored', seq);
    case 'strike': {
      const entries = entriesOf(view, idsOfOneTouch(view, index));
      return entries.length === 0 ? null : { kind: 'struck', entries, seq };
    }
    case 'question':
    case 'ask-again':
      return asked(view, event.questionId, event.madeAtMs, seq, atMs);
    case 'reject':
      return withdrawn(view, event.questionId, seq);
    case 'mark':
      return view.marks.some(({ markId }) => markId === event.markId)
        ? { kind: 'marked', markId: event.markId, atMs: event.atMs, seq }
        : null;
    case 'utterance': {
      const command = event.command;
      if (!isAnswered(command?.code) || atMs > event.madeAtMs + SHOWN_FOR_MS) return null;
      const { code, since } = { ...command, code: command!.code as AskedOfTool['code'] };
      return { kind: 'answer', asked: { code, since, atMs: event.onsetMs }, seq };
    }
    default:
      return null;
  }
}

const isAnswered = (code: CommandCode | undefined): boolean =>
  code === 'elapsed' || code === 'clock' || code === 'read-back' || code === 'next-question';

function asked(
  view: RecordView,
  questionId: string,
  fromMs: number,
  seq: number,
  atMs: number,
): Shown | null {
  const question = view.questions.find((one) => one.questionId === questionId);
  const untilMs = fromMs + SHOWN_FOR_MS;
  if (question === undefined || !isOpenAt(question, atMs) || atMs > untilMs) return null;
  return { kind: 'question', question, fromMs, untilMs, seq };
}

/** Whether nobody had answered or withdrawn the question by `atMs`. */
export const isOpenAt = ({ state, settledAtMs }: QuestionView, atMs: number): boolean =>
  state === 'open' || (settledAtMs !== undefined && settledAtMs > atMs);

function withdrawn(view: RecordView, questionId: string, seq: number): Shown | null {
  const question = view.questions.find((one) => one.questionId === questionId);
  if (question === undefined || question.state === 'open') return null;
  return question.strikes === undefined
    ? { kind: 'withdrawn', question, seq }
    : logged(view, question.strikes, 'stays', seq);
}

/** Entries that were struck out or put back in one go. */
function idsOfOneTouch(view: RecordView, index: number): string[] {
  const last = view.events[index]!;
  const ids: string[] = [];
  for (let at = index; at >= 0; at -= 1) {
    const event = view.events[at]!;
    if (event.kind !== last.kind || event.madeAtMs !== last.madeAtMs) break;
    if (event.kind === 'strike' || event.kind === 'restore') ids.unshift(event.entryId);
  }
  return ids;
}

const entriesOf = (view: RecordView, ids: readonly string[]): EntryView[] =>
  ids.flatMap((id) => view.entries.find(({ entryId }) => entryId === id) ?? []);

function logged(view: RecordView, ids: readonly string[], change: Change, seq: number): Shown | null {
  const entries = entriesOf(view, ids);
  const [first] = entries;
  return first === undefined ? null : { kind: 'logged', change, entries, atMs: first.atMs, seq };
}

/** Call-outs in one breath are confirmed as one: an operator who said two must see both. */
function together(
  view: RecordView,
  entryId: string,
  change: Change,
  seq: number,
  atMs: number,
): Shown | null {
  const found = view.entries.find((entry) => entry.entryId === entryId);
  if (found === undefined) return null;
  const breath = view.utterances.find(({ utteranceId }) => utteranceId === found.utteranceId);
  const ids = breath === undefined || breath.entryIds.length === 0 ? [entryId] : breath.entryIds;
  const entries = entriesOf(view, ids).filter(
    ({ status, madeAtMs }) => status === 'logged' && madeAtMs <= atMs,
  );
  return {
    kind: 'logged',
    change,
    entries: entries.length > 0 ? entries : [found],
    atMs: found.atMs,
    seq,
  };
}

/** What the strip shows now, everything that the view holds included: a tick of the clock may be older than that. */
export const shownNow = (view: RecordView, nowMs: number): Shown =>
  shownAt(view, Math.max(nowMs, view.events.at(-1)?.madeAtMs ?? 0));
