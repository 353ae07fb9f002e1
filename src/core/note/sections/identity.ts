import { verifyRecord } from '../../log/chain.ts';
import type { LogEvent } from '../../log/events.ts';
import { rootOf } from '../../log/lanes.ts';
import type { RecordView } from '../../log/view.ts';
import { NOT_RECORDED, type Pair, type Section } from '../model.ts';
import { clockIsEnough, dateOfTime, firstDate, lengthText, longDate, timeText } from '../times.ts';
import type { NoteParts } from './parts.ts';

/** Which record this is, by which clock, and in what state. */
export function identitySection({ file, view }: NoteParts): Section {
  const until = view.finishedAtMs === null ? NOT_RECORDED : timeText(view, view.finishedAtMs);
  const pairs: Pair[] = [
    ...(view.mode === 'practice'
      ? [{ label: 'Kind', value: 'practice (simulation), not a real birth' }]
      : []),
    { label: 'Reference', value: view.reference || NOT_RECORDED },
    { label: 'Date', value: dateText(view) },
    {
      label: 'Record',
      value: `${timeText(view, view.spans[0]!.startMs)} to ${until}; number ${file.recordId}`,
    },
    { label: 'Clock', value: `this device, ${view.timeZone}; ${offsetText(view)}` },
  ];
  return { id: 'record', title: 'Record', blocks: [{ kind: 'pairs', pairs }] };
}

/** What the file says of itself: its log, the head of its hash chain, and what it was made with. */
export function proofPairs(file: NoteParts['file']): Pair[] {
  const head = file.events[0];
  const madeWith = head?.kind === 'begin' ? head.record?.madeWith : undefined;
  return [
    {
      label: 'Log',
      value: `${chainText(file)}; head of the chain ${file.events.length > 0 ? rootOf(file.events) : NOT_RECORDED}`,
    },
    {
      label: 'Made with',
      value:
        madeWith === undefined
          ? NOT_RECORDED
          : `app ${madeWith.app}, speech model ${madeWith.model}, vocabulary ${madeWith.vocabulary}`,
    },
  ];
}

/** Both days where the birth went past midnight; late additions carry dates of their own. */
function dateText(view: RecordView): string {
  const first = firstDate(view);
  const last = dateOfTime(view, Math.max(...view.entries.map(({ atMs }) => atMs), view.spans[0]!.startMs));
  const after = last > first && clockIsEnough(view) ? `; times after midnight are of ${longDate(last)}` : '';
  return `${longDate(first)}${after}`;
}

function offsetText(view: RecordView): string {
  if (view.clockOffset === null) return 'difference to the room clock not checked';
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
    ? `${count}, each bound to the one before by its hash${since}`
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

/** Events that change the note after the signature with this number, which is the last one unless told. */
export function changesAfterSigning(view: RecordView, seq = view.signatures.at(-1)?.seq): LogEvent[] {
  return seq === undefined ? [] : view.events.filter((e) => e.seq > seq && CHANGES.has(e.kind));
}
