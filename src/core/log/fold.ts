import type { Entry } from '../entry.ts';
import type { LogEvent, RecordFile } from './events.ts';
import type { EntryView, QuestionView, RecordView, UtteranceView } from './view.ts';

type Event<K extends LogEvent['kind']> = Extract<LogEvent, { kind: K }>;

interface Folding {
  view: RecordView;
  entries: Map<string, EntryView>;
  questions: Map<string, QuestionView>;
  utterances: Map<string, UtteranceView>;
  speechLostAtMs: { atMs: number; why?: string } | null;
  pausedAtMs: number | null;
}

function withoutMark(entry: Entry): Entry {
  if (entry.unclear === undefined) return entry;
  const { unclear: _unclear, ...rest } = entry;
  return rest;
}

/**
 * The state of a record: one pass over its events in the order of their numbers, whatever order they
 * come in. An event that has nothing to apply to changes nothing and is named in `withoutEffect`.
 */
export function foldRecord(file: RecordFile): RecordView {
  const events = inOrder(file.events);
  const folding: Folding = {
    view: {
      mode: 'real',
      reference: '',
      timeZone: file.timeZone,
      spans: file.spans,
      entries: [],
      questions: [],
      utterances: [],
      marks: [],
      fields: {},
      clockOffset: null,
      paused: false,
      finishedAtMs: null,
      signatures: [],
      amendments: [],
      interruptions: [],
      withoutEffect: [],
      events,
    },
    entries: new Map(),
    questions: new Map(),
    utterances: new Map(),
    speechLostAtMs: null,
    pausedAtMs: null,
  };
  for (const event of events) apply(folding, event);
  closeInterruptions(folding, null);
  const { view, entries, questions, utterances } = folding;
  view.entries = [...entries.values()].sort((a, b) => a.atMs - b.atMs || a.history[0]! - b.history[0]!);
  view.questions = [...questions.values()];
  view.utterances = [...utterances.values()];
  view.interruptions.sort((a, b) => a.fromMs - b.fromMs);
  return view;
}

function inOrder(events: readonly LogEvent[]): readonly LogEvent[] {
  const ordered = events.every((event, index) => index === 0 || events[index - 1]!.seq < event.seq);
  return ordered ? events : [...events].sort((a, b) => a.seq - b.seq);
}

function apply(folding: Folding, event: LogEvent): void {
  const { view } = folding;
  switch (event.kind) {
    case 'begin':
      // A drill never becomes a real record, whatever is said later.
      if (event.mode === 'practice') view.mode = 'practice';
      if (event.reference !== undefined) view.reference = event.reference;
      if (event.scenarioId !== undefined) view.scenarioId = event.scenarioId;
      return;
    case 'utterance':
      return addUtterance(folding, event);
    case 'entry':
      return addEntry(folding, event, event.entryId, event.entry, event, event.utteranceId);
    case 'question':
      return addQuestion(folding, event);
    case 'confirm':
      return confirm(folding, event);
    case 'reject':
      return reject(folding, event);
    case 'strike':
    case 'restore':
    case 'replace':
    case 'shift':
      return change(folding, event);
    case 'mark':
      view.marks.push({ markId: event.markId, atMs: event.atMs });
      return;
    case 'field':
      if (event.field === 'reference') view.reference = event.value;
      if (event.value === '') delete view.fields[event.field];
      else setOwn(view.fields, event.field, { value: event.value, ...pick(event) });
      return;
    case 'clock-offset': {
      const { roomMinusDeviceMs, against } = event;
      view.clockOffset = roomMinusDeviceMs === null ? null : { roomMinusDeviceMs, against };
      return;
    }
    case 'pause':
      folding.pausedAtMs ??= event.atMs;
      view.paused = true;
      return;
    case 'resume':
      closePause(folding, event.atMs);
      view.paused = false;
      return;
    case 'continued':
      view.interruptions.push({ kind: 'restart', fromMs: lastKnownMs(folding, event), toMs: event.atMs });
      return;
    case 'speech-state':
      if (event.state === 'unavailable') folding.speechLostAtMs ??= { atMs: event.atMs, why: event.why };
      else closeSpeechLoss(folding, event.atMs);
      return;
    case 'finish':
      view.finishedAtMs = event.atMs;
      closeInterruptions(folding, event.atMs);
      view.paused = false;
      return;
    case 'reopen':
      view.finishedAtMs = null;
      return;
    case 'sign': {
      const { name, role, statement, seq, madeAt } = event;
      view.signatures.push({ name, role, statement, seq, madeAt });
      return;
    }
    case 'amend':
      view.amendments.push({ reason: event.reason, ...pick(event) });
      return;
  }
}

const pick = ({ seq, madeAt, by }: LogEvent) => ({ seq, madeAt, by });

/** Sets a key that comes from a file; `__proto__` becomes a plain key like any other. */
function setOwn<T>(target: Record<string, T>, key: string, value: T): void {
  Object.defineProperty(target, key, { value, enumerable: true, configurable: true, writable: true });
}

const ignore = (folding: Folding, event: LogEvent, why: string): void => {
  folding.view.withoutEffect.push({ seq: event.seq, why });
};

function addUtterance(folding: Folding, event: Event<'utterance'>): void {
  if (folding.utterances.has(event.utteranceId)) return ignore(folding, event, 'this utterance is logged');
  const { utteranceId, onsetMs, endMs, heard, confidence, outcome, seq } = event;
  const view: UtteranceView = { utteranceId, onsetMs, endMs, heard, confidence, outcome, seq, entryIds: [] };
  if (event.heardSecond !== undefined) view.heardSecond = event.heardSecond;
  if (event.command !== undefined) view.command = event.command;
  if (event.when !== undefined) view.when = event.when;
  folding.utterances.set(utteranceId, view);
}

function addEntry(
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

function addQuestion(folding: Folding, event: Event<'question'>): void {
  if (folding.questions.has(event.questionId)) return ignore(folding, event, 'this question is logged');
  const { questionId, utteranceId, entries, alternatives = [], problem, atMs, timing, seq, by } = event;
  const { estimated, replaces } = event;
  const told = { questionId, utteranceId, entries, alternatives, problem, atMs, timing, estimated, replaces };
  folding.questions.set(questionId, { ...told, state: 'open', seq, by });
  const utterance = utteranceId === undefined ? undefined : folding.utterances.get(utteranceId);
  if (utterance !== undefined) utterance.questionId = questionId;
}

function confirm(folding: Folding, event: Event<'confirm'>): void {
  const question = folding.questions.get(event.questionId);
  if (question === undefined) return ignore(folding, event, 'no such question');
  if (question.state === 'confirmed') return ignore(folding, event, 'this question was answered before');
  if (event.entryIds.length !== event.entries.length) {
    return ignore(folding, event, 'the answer names another number of entries than it holds');
  }
  question.state = 'confirmed';
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
  const { seq, by, madeAtMs, madeAt, previousHash, hash } = event;
  const sealed = { seq, by, madeAtMs, madeAt, previousHash, hash, entryId: question.replaces! };
  const { utteranceId } = question;
  if (folding.entries.get(sealed.entryId)?.status === 'struck')
    change(folding, { ...sealed, kind: 'restore' });
  change(folding, { ...sealed, kind: 'replace', entry, utteranceId });
  if (question.timing === 'heard') return;
  const { atMs, estimated } = question;
  change(folding, { ...sealed, kind: 'shift', atMs, ...(estimated ? { estimated } : {}) });
}

function reject(folding: Folding, event: Event<'reject'>): void {
  const question = folding.questions.get(event.questionId);
  if (question === undefined) return ignore(folding, event, 'no such question');
  if (question.state !== 'open') return ignore(folding, event, 'this question was answered before');
  question.state = 'rejected';
}

function change(folding: Folding, event: Event<'strike' | 'restore' | 'replace' | 'shift'>): void {
  const view = folding.entries.get(event.entryId);
  if (view === undefined) return ignore(folding, event, 'no such entry');
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

/** The last moment that the log itself vouches for before a restart. */
function lastKnownMs(folding: Folding, event: Event<'continued'>): number {
  const before = folding.view.events[event.seq - 1];
  return before === undefined ? event.atMs : Math.min(before.madeAtMs, event.atMs);
}

function closeSpeechLoss(folding: Folding, toMs: number | null): void {
  const lost = folding.speechLostAtMs;
  if (lost === null) return;
  const { atMs: fromMs, why } = lost;
  const told = { kind: 'speech-unavailable', fromMs, toMs } as const;
  folding.view.interruptions.push(why === undefined ? told : { ...told, why });
  folding.speechLostAtMs = null;
}

function closePause(folding: Folding, toMs: number | null): void {
  if (folding.pausedAtMs === null) return;
  folding.view.interruptions.push({ kind: 'paused', fromMs: folding.pausedAtMs, toMs });
  folding.pausedAtMs = null;
}

function closeInterruptions(folding: Folding, toMs: number | null): void {
  closeSpeechLoss(folding, toMs);
  closePause(folding, toMs);
}
