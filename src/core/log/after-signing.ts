import type { Author, EventBody } from './events.ts';
import type { RecordView } from './view.ts';

/** Signed and not opened again since by an amendment: a change then needs a reason first. */
export function isSealed(view: RecordView): boolean {
  const signed = view.signatures.at(-1)?.seq ?? -1;
  const amended = view.amendments.at(-1)?.seq ?? -1;
  return signed > amended;
}

/** What may happen to a record at this moment. `needs-reason`: nothing may be added before an amendment gives one. */
export type Passed = { kind: 'passed'; bodies: EventBody[] } | { kind: 'needs-reason'; bodies: EventBody[] };

/**
 * The one gate for everything that is added to a record. After signing, a new call-out (spoken, typed or touched) is
 * always kept: the note says that it came after signing and is not covered, and its reason is asked for later. A
 * change of what the signature covers needs the reason first; said aloud ("undo") it is kept as words only.
 */
export function passGate(bodies: readonly EventBody[], by: Author, view: RecordView): Passed {
  const all = [...bodies];
  if (!isSealed(view) || all.some(({ kind }) => kind === 'amend' || kind === 'sign'))
    return { kind: 'passed', bodies: all };
  const signed = view.signatures.at(-1)!.seq;
  const free = all.filter((body) => !changesCovered(body, view, signed));
  if (free.length === all.length || by.kind === 'voice') return { kind: 'passed', bodies: free };
  return { kind: 'needs-reason', bodies: all };
}

function changesCovered(body: EventBody, view: RecordView, signed: number): boolean {
  switch (body.kind) {
    case 'utterance':
    case 'entry':
    case 'question':
    case 'mark':
    case 'ask-again':
    case 'pause':
    case 'resume':
    case 'speech-state':
    case 'continued':
    case 'clocks-parted':
    case 'sign':
    case 'amend':
    case 'conversation':
    case 'release':
      return false;
    case 'strike':
    case 'restore':
    case 'replace':
    case 'shift': {
      return madeBefore(body.entryId, view, signed);
    }
    case 'confirm':
    case 'reject': {
      const question = view.questions.find(({ questionId }) => questionId === body.questionId);
      if (question === undefined) return false;
      const strikes = body.kind === 'confirm' ? (question.strikes ?? []) : [];
      return question.seq <= signed || strikes.some((entryId) => madeBefore(entryId, view, signed));
    }
    default:
      return true;
  }
}

function madeBefore(entryId: string, view: RecordView, signed: number): boolean {
  const entry = view.entries.find((one) => one.entryId === entryId);
  return entry !== undefined && entry.history[0]! <= signed;
}

/** Call-outs and other events after the last signature for which nobody has given a reason yet. */
export function withoutReason(view: RecordView): number {
  if (!isSealed(view)) return 0;
  const signed = view.signatures.at(-1)!.seq;
  const told = new Set(['entry', 'question', 'confirm', 'replace', 'strike', 'shift', 'restore', 'reject']);
  return view.events.filter(({ seq, kind }) => seq > signed && told.has(kind)).length;
}

const CHANGING: ReadonlySet<EventBody['kind']> = new Set<EventBody['kind']>([
  'amend',
  'begin',
  'entry',
  'question',
  'confirm',
  'reject',
  'strike',
  'restore',
  'replace',
  'shift',
  'field',
  'clock-offset',
  'reopen',
]);

/** Whether an event of this kind may change what the record says of the birth. Talks and releases do not. */
export const changesTheRecord = (kind: EventBody['kind']): boolean => CHANGING.has(kind);
