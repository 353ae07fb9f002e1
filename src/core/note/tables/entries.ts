import { secondsBetween } from '../../facts/logged.ts';
import { partedMs } from '../../facts/parted-clocks.ts';
import type { UtteranceView } from '../../log/view.ts';
import { authorText, eventAt } from '../lines.ts';
import type { Note, NoteLine } from '../model.ts';
import { headMs, isoText } from '../times.ts';
import { columnsWith, type Column } from './column.ts';
import { otherSlots, SLOT_COLUMNS } from './slot-columns.ts';

interface EntryRow {
  note: Note;
  line: NoteLine;
  /** What was heard, or typed as a call-out. */
  utterance?: UtteranceView;
  /** The same where it was spoken. */
  speech?: UtteranceView;
}

function fromHeadSeconds({ note: { view }, line }: EntryRow): number | undefined {
  const head = headMs(view);
  return head === null ? undefined : secondsBetween(view, head, line.entry.atMs);
}

function fromHeadByDeviceClock(row: EntryRow): number | undefined {
  const { view } = row.note;
  const head = headMs(view);
  const seconds = fromHeadSeconds(row);
  if (head === null || seconds === undefined) return undefined;
  const parted = Math.round(partedMs(view, head, row.line.entry.atMs) / 1000);
  if (parted === 0) return undefined;
  // Before the head the device's clock counts its further time backwards.
  return seconds < 0 ? seconds - parted : seconds + parted;
}

export const ENTRY_COLUMNS: readonly Column<EntryRow>[] = [
  ...columnsWith<'entry', EntryRow>('entry', {
    entry_number: ({ line }) => line.number,
    entry_status: ({ line }) => line.entry.status,
    entry_time: ({ note, line }) => isoText(note.view, line.entry.atMs),
    from_head_seconds: fromHeadSeconds,
    from_head_device_clock_seconds: fromHeadByDeviceClock,
    code: ({ line }) => line.entry.entry.code,
    entry_words: ({ line }) => line.text,
  }),
  ...SLOT_COLUMNS.map((column) => ({
    ...column,
    cell: ({ line }: EntryRow) => column.cell(line.entry.entry),
  })),
  ...columnsWith<'afterSlots', EntryRow>('afterSlots', {
    other_slots: ({ line }) => otherSlots(line.entry.entry),
    said_as: ({ line }) => line.entry.entry.spoken,
    unclear: ({ line }) => line.entry.entry.unclear,
    time_source: ({ line }) => line.entry.timing,
    time_estimated: ({ line }) => line.entry.estimated,
    added_later: ({ line }) => line.entry.addedLater,
    made_by: ({ line }) => line.entry.by.kind,
    made_by_name: ({ line }) => line.entry.by.name,
    made_at: ({ note, line: { entry } }) =>
      eventAt(note.view, entry.history.at(entry.confirmedBy ? 1 : 0)!).madeAt,
    confirmed_by: ({ line }) => line.entry.confirmedBy?.kind,
    confirmed_by_name: ({ line }) => line.entry.confirmedBy?.name,
    remarks: ({ line }) => line.marks.join('; '),
    changes: ({ line }) =>
      line.entry.changes
        .map(({ kind, by, reason }) => `${kind} by ${authorText(by)}${reason ? `: ${reason}` : ''}`)
        .join('; '),
    heard: ({ utterance }) => utterance?.heard,
    heard_second: ({ speech }) => speech?.heardSecond,
    speech_from: ({ note, speech }) => speech && isoText(note.view, speech.onsetMs),
    speech_to: ({ note, speech }) => speech && isoText(note.view, speech.endMs),
    confidence: ({ speech }) => speech?.confidence,
  }),
];

/** One row for each entry in the order of time, struck ones included. */
export function entryRows(note: Note): EntryRow[] {
  const utterances = new Map(note.view.utterances.map((one) => [one.utteranceId, one]));
  return note.lines.map((line) => {
    const { utteranceId } = line.entry;
    const utterance = utteranceId === undefined ? undefined : utterances.get(utteranceId);
    return { note, line, utterance, speech: utterance?.typedBy ? undefined : utterance };
  });
}
