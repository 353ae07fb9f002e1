import type { Entry } from '../entry.ts';
import type { LogEvent } from './events.ts';
import { noteVersion } from './clashes.ts';
import { ignore, type Event, type Folding } from './folding.ts';
import type { EntryView, QuestionView, UtteranceView } from './view.ts';

function withoutMark(entry: Entry): Entry {
  if (entry.unclear === undefined) return entry;
  const { unclear: _unclear, ...rest } = entry;
  return rest;
}

export function addUtterance(folding: Folding, event: Event<'utterance'>): void {
  if (folding.utterances.has(event.utteranceId)) return ignore(folding, event, 'this utterance is logged');
  const { utteranceId, onsetMs, endMs, heard, confidence, outcome, seq } = event;
  const view: UtteranceView = { utteranceId, onsetMs, endMs, heard, confidence, outcome, seq, entryIds: [] };
  if (event.heardSecond !== undefined) view.heardSecond = event.heardSecond;
  if (event.secondListening !== undefined) view.secondListening = event.secondListening;
  if (event.unheard !== undefined) view.unheard = event.unheard;
  if (event.inStandby !== undefined) view.inStandby = event.inStandby;
  if (event.command !== undefined) view.command = event.command;
  if (event.when !== undefined) view.when = event.when;
  if (event.by.kind === 'helper') view.typedBy = event.by;
  folding.utterances.set(utteranceId, view);
}

export function addEntry(
  folding: Folding,
  event: LogEvent,
  entryId: string,
  entry: Entry,
  time: Pick<Event<'entry'>, 'atMs' | 'timing' | 'estimated'>,
  utteranceId?: string,
): void {
  if (folding.entries.has(entryId)) return ignore(folding, event, 'this entry is logged');
  const view: EntryView = {
    entryId,
    entry: withoutMark(entry),
    atMs: time.atMs,
    timing: time.timing,
    estimated: time.estimated === true,
    status: 'logged',
    by: event.by,
    madeAtMs: event.madeAtMs,
    addedLater: folding.view.finishedAtMs !== null || time.timing === 'typed',
    history: [event.seq],
    changes: [],
  };
  folding.entries.set(entryId, view);
  if (utteranceId === undefined) return;
  view.utteranceId = utteranceId;
  folding.utterances.get(utteranceId)?.entryIds.push(entryId);
}

export function addQuestion(folding: Folding, event: Event<'question'>): void {
  if (folding.questions.has(event.questionId)) return ignore(folding, event, 'this question is logged');
  const { questionId, utteranceId, entries, alternatives = [], problem, atMs, timing, seq, by } = event;
  const { estimated, replaces, strikes } = event;
  const told = {
    questionId,
    utteranceId,
    entries,
    alternatives,
    problem,
    atMs,
    timing,
    estimated,
    replaces,
    strikes,
  };
  folding.questions.set(questionId, { ...told, state: 'open', seq, by });
  const utterance = utteranceId === undefined ? undefined : folding.utterances.get(utteranceId);
  if (utterance !== undefined) utterance.questionId = questionId;
}

export function confirm(folding: Folding, event: Event<'confirm'>): void {
  const question = folding.questions.get(event.questionId);
  if (question === undefined) return ignore(folding, event, 'no such question');
  if (question.state === 'confirmed') return ignore(folding, event, 'this question was answered before');
  if (event.entryIds.length !== event.entries.length) {
    return ignore(folding, event, 'the answer names another number of entries than it holds');
  }
  question.state = 'confirmed';
  question.settledAtMs = event.madeAtMs;
  for (const [index, entry] of event.entries.entries()) {
    const entryId = event.entryIds[index]!;
    if (entryId === question.replaces) {
      replaceByAnswer(folding, event, question, entry);
      continue;
    }
    addEntry(folding, event, entryId, entry, question, question.utteranceId);
    const added = folding.entries.get(entryId);
    if (added?.history[0] !== event.seq) continue;
    added.by = question.by;
    added.confirmedBy = event.by;
    added.history = [question.seq, event.seq];
  }
}

/** The answer to a correction: what it corrects stands again, with the new content and the time that was said. */
function replaceByAnswer(
  folding: Folding,
  event: Event<'confirm'>,
  question: QuestionView,
  entry: Entry,
): void {
  const { seq, by, madeAtMs, madeAt, previousHash, hash, lane, laneSeq } = event;
  const sealed = {
    seq,
    by,
    madeAtMs,
    madeAt,
    previousHash,
    hash,
    lane,
    laneSeq,
    entryId: question.replaces!,
  };
  const { utteranceId } = question;
  if (folding.entries.get(sealed.entryId)?.status === 'struck')
    change(folding, { ...sealed, kind: 'restore' });
  change(folding, { ...sealed, kind: 'replace', entry, utteranceId });
  if (question.timing === 'heard') return;
  const { atMs, estimated } = question;
  change(folding, { ...sealed, kind: 'shift', atMs, ...(estimated ? { estimated } : {}) });
}

export function reject(folding: Folding, event: Event<'reject'>): void {
  const question = folding.questions.get(event.questionId);
  if (question === undefined) return ignore(folding, event, 'no such question');
  if (question.state !== 'open') return ignore(folding, event, 'this question was answered before');
  question.state = 'rejected';
  question.settledAtMs = event.madeAtMs;
}

export function askAgain(folding: Folding, event: Event<'ask-again'>): void {
  const question = folding.questions.get(event.questionId);
  if (question === undefined) return ignore(folding, event, 'no such question');
  if (question.state === 'confirmed') return ignore(folding, event, 'this question was answered before');
  question.state = 'open';
  delete question.settledAtMs;
}

export function change(folding: Folding, event: Event<'strike' | 'restore' | 'replace' | 'shift'>): void {
  const view = folding.entries.get(event.entryId);
  if (view === undefined) return ignore(folding, event, 'no such entry');
  noteVersion(folding.knowledge, folding.versions, event.entryId, event);
  if (event.kind === 'strike' && view.status === 'struck') return ignore(folding, event, 'struck out before');
  if (event.kind === 'restore' && view.status === 'logged')
    return ignore(folding, event, 'was not struck out');
  const { kind, seq, by, madeAtMs, madeAt, reason } = event;
  const before = {
    entry: view.entry,
    atMs: view.atMs,
    ...(view.estimated ? { estimated: true as const } : {}),
  };
  view.changes.push({
    kind,
    seq,
    by,
    madeAtMs,
    madeAt,
    ...(reason === undefined ? {} : { reason }),
    ...before,
  });
  view.history.push(seq);
  if (event.kind === 'strike') view.status = 'struck';
  if (event.kind === 'restore') view.status = 'logged';
  if (event.kind === 'replace') {
    view.entry = withoutMark(event.entry);
    if (event.utteranceId !== undefined) {
      folding.utterances.get(event.utteranceId)?.entryIds.push(event.entryId);
    }
  }
  if (event.kind === 'shift') {
    view.atMs = event.atMs;
    view.timing = 'corrected';
    view.estimated = event.estimated === true;
  }
}
