import { verifyRecord } from '../../log/chain.ts';
import type { LogEvent } from '../../log/events.ts';
import type { RecordView } from '../../log/view.ts';
import { NOT_RECORDED, type Pair, type Section } from '../model.ts';
import { firstDate, lengthText, longDate, madeText, timeText } from '../times.ts';
import type { NoteParts } from './parts.ts';

/** Which record this is, by which clock, and in what state. */
export function identitySection({ file, view }: NoteParts): Section {
  const pairs: Pair[] = [
    {
      label: 'Kind',
      value: view.mode === 'practice' ? 'practice (simulation), not a real birth' : 'real birth',
    },
    { label: 'Reference', value: view.reference || NOT_RECORDED },
    { label: 'Date', value: longDate(firstDate(view)) },
    { label: 'Record begun', value: timeText(view, view.spans[0]!.startMs) },
    {
      label: 'Record finished',
      value: view.finishedAtMs === null ? NOT_RECORDED : timeText(view, view.finishedAtMs),
    },
    { label: 'Clock', value: `this device, ${view.timeZone}` },
    { label: 'Room clock', value: offsetText(view) },
    { label: 'Record number', value: file.recordId },
    { label: 'Signature', value: signatureText(view) },
    { label: 'Log', value: chainText(file) },
  ];
  return { id: 'record', title: 'Record', blocks: [{ kind: 'pairs', pairs }] };
}

function offsetText(view: RecordView): string {
  if (view.clockOffset === null) return 'difference to this device not checked';
  const { roomMinusDeviceMs, against } = view.clockOffset;
  const named = against === '' ? 'room clock' : against;
  if (roomMinusDeviceMs === 0) return `${named} checked: same as this device`;
  const way = roomMinusDeviceMs > 0 ? 'ahead of' : 'behind';
  return `${named} ${lengthText(roomMinusDeviceMs)} ${way} this device; times below are by the ${named}, those of typing, correcting and signing by this device`;
}

function chainText(file: NoteParts['file']): string {
  const state = verifyRecord(file);
  const [first] = file.events;
  const older = first?.kind === 'begin' ? first.record?.migratedFrom : undefined;
  const since = older === undefined ? '' : ` since its import from version ${older} of the file`;
  const count = `${file.events.length} events`;
  return state.kind === 'intact'
    ? `${count}, hash chain intact${since}`
    : `HASH CHAIN BROKEN at event ${state.seq}: ${state.why}. What follows may not be what was recorded.`;
}

/** Kinds of events that change what the note says. */
const CHANGES: ReadonlySet<LogEvent['kind']> = new Set<LogEvent['kind']>([
  'entry',
  'confirm',
  'strike',
  'restore',
  'replace',
  'shift',
  'field',
  'clock-offset',
  'mark',
  'unmark',
  'begin',
  'utterance',
  'question',
  'reject',
  'ask-again',
  'finish',
  'reopen',
]);

/** Events after the last signature that change the note. */
export function changesAfterSigning(view: RecordView): LogEvent[] {
  const last = view.signatures.at(-1);
  return last === undefined ? [] : view.events.filter((e) => e.seq > last.seq && CHANGES.has(e.kind));
}

function signatureText(view: RecordView): string {
  const last = view.signatures.at(-1);
  if (last === undefined) return 'not signed';
  const by = `${last.name}, ${last.role || `role ${NOT_RECORDED}`}, ${madeText(last.madeAt)}`;
  const first =
    view.signatures.length > 1 ? `signed ${view.signatures.length} times, last by ${by}` : `signed by ${by}`;
  return changesAfterSigning(view).length > 0 ? `${first}; CHANGED AFTER SIGNING, see Signatures` : first;
}
