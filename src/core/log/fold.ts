import type { LogEvent, RecordFile } from './events.ts';
import { changesTheRecord } from './after-signing.ts';
import { addEntry, addQuestion, addUtterance, askAgain, change, confirm, reject } from './fold-entries.ts';
import { closeInterruptions, closePause, closeSpeechLoss, lastKnownMs } from './fold-interruptions.ts';
import type { Folding } from './folding.ts';
import { clashesOf } from './clashes.ts';
import { hasSeveralLanes, inOrder, knowledgeOf } from './lanes.ts';
import { legibleEvent } from './legible.ts';
import type { RecordView } from './view.ts';

/**
 * The state of a record: one pass over its events in the order of their numbers, whatever order they
 * come in. An event that has nothing to apply to changes nothing and is named in `withoutEffect`. Texts are as they are
 * shown (legible.ts); the file keeps them as they were written.
 */
export function foldRecord(file: RecordFile): RecordView {
  const events = inOrder(file.events).map(legibleEvent);
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
      stands: {},
      conversations: [],
      releases: [],
      interruptions: [],
      withoutEffect: [],
      events,
    },
    entries: new Map(),
    questions: new Map(),
    utterances: new Map(),
    knowledge: hasSeveralLanes(events) ? knowledgeOf(events) : null,
    versions: new Map(),
    speechLostAtMs: null,
    pausedAtMs: null,
  };
  for (const event of events) {
    supersede(folding.view, event);
    apply(folding, event);
  }
  closeInterruptions(folding, null);
  const { view, entries, questions, utterances } = folding;
  for (const [entryId, versions] of folding.versions) {
    const clashes = clashesOf(versions);
    if (clashes.length > 0) entries.get(entryId)!.clashes = clashes;
  }
  view.entries = [...entries.values()].sort((a, b) => a.atMs - b.atMs || a.history[0]! - b.history[0]!);
  view.questions = [...questions.values()];
  view.utterances = [...utterances.values()];
  view.conversations.sort((a, b) => (a.heldAt < b.heldAt ? -1 : a.heldAt > b.heldAt ? 1 : a.seq - b.seq));
  view.interruptions.sort((a, b) => a.fromMs - b.fromMs);
  return view;
}

function apply(folding: Folding, event: LogEvent): void {
  const { view } = folding;
  switch (event.kind) {
    case 'begin':
      // A drill never becomes a real record, whatever is said later.
      if (event.mode === 'practice') view.mode = 'practice';
      if (event.reference !== undefined) view.reference = event.reference;
      if (event.standby !== undefined) view.standby ??= event.standby;
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
    case 'ask-again':
      return askAgain(folding, event);
    case 'strike':
    case 'restore':
    case 'replace':
    case 'shift':
      return change(folding, event);
    case 'mark':
      view.marks.push({ markId: event.markId, atMs: event.atMs });
      return;
    case 'unmark':
      view.marks = view.marks.filter(({ markId }) => markId !== event.markId);
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
      // A finished record is not listened to: that it was opened again later is no gap.
      if (view.finishedAtMs !== null) return;
      view.interruptions.push({ kind: 'restart', fromMs: lastKnownMs(folding, event), toMs: event.atMs });
      return;
    case 'clocks-parted': {
      const { sinceMs: fromMs, atMs: toMs, byMs } = event;
      if (view.finishedAtMs === null) view.interruptions.push({ kind: 'clocks-parted', fromMs, toMs, byMs });
      return;
    }
    case 'speech-state':
      if (view.finishedAtMs !== null) return;
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
    case 'stands': {
      const { about, reason } = event;
      setOwn(view.stands, about, { about, ...(reason === undefined ? {} : { reason }), ...pick(event) });
      return;
    }
    case 'conversation': {
      const before = view.conversations.find((one) => one.conversationId === event.conversationId);
      const earlier = before === undefined ? 0 : before.earlier + 1;
      view.conversations = view.conversations.filter((one) => one !== before);
      const { conversationId, heldAt, who, withWhom, explained, asked, followUp, nextPregnancy } = event;
      const said = { conversationId, heldAt, who, withWhom, explained, asked, followUp, nextPregnancy };
      view.conversations.push({ ...said, ...pick(event), earlier });
      return;
    }
    case 'release': {
      const { releaseId, name, role, ownWords, staffNames, textHash } = event;
      const told = { releaseId, name, role, ownWords, staffNames, textHash };
      view.releases.push({ ...told, ...pick(event), superseded: null });
      return;
    }
  }
}

/** An account that was given out is out of date once what it was made from may have changed. */
function supersede(view: RecordView, { kind, seq, madeAt }: LogEvent): void {
  if (view.releases.length === 0 || !changesTheRecord(kind)) return;
  for (const release of view.releases) release.superseded ??= { seq, madeAt };
}

const pick = ({ seq, madeAt, by }: LogEvent) => ({ seq, madeAt, by });

/** Sets a key that comes from a file; `__proto__` becomes a plain key like any other. */
function setOwn<T>(target: Record<string, T>, key: string, value: T): void {
  Object.defineProperty(target, key, { value, enumerable: true, configurable: true, writable: true });
}
