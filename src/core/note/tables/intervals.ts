import type { Interval } from '../../facts/types.ts';
import type { Note } from '../model.ts';
import { isoText } from '../times.ts';
import { columnsWith, type Cell } from './column.ts';

interface IntervalRow {
  note: Note;
  interval: Interval;
  /** Numbers of the entries by their names. */
  numbers: ReadonlyMap<string, number>;
}

const known = ({ interval: { value } }: IntervalRow) => (value.kind === 'known' ? value : undefined);

function timeOf({ note, interval }: IntervalRow, end: number): Cell {
  const atMs = interval.inputs[end]?.atMs ?? null;
  return atMs === null ? undefined : isoText(note.view, atMs);
}

export const INTERVAL_COLUMNS = columnsWith<'intervals', IntervalRow>('intervals', {
  interval: ({ interval }) => interval.id,
  label: ({ interval }) => interval.label,
  length_seconds: (row) => known(row)?.seconds,
  length_device_clock_seconds: (row) => known(row)?.byDeviceClockSeconds,
  from: ({ interval }) => interval.inputs[0]?.label,
  from_time: (row) => timeOf(row, 0),
  to: ({ interval }) => interval.inputs[1]?.label,
  to_time: (row) => timeOf(row, 1),
  missing: ({ interval: { value } }) => (value.kind === 'not recorded' ? value.missing : undefined),
  conflict: ({ interval: { value } }) => (value.kind === 'conflict' ? value.why : undefined),
  estimated: ({ interval }) => interval.estimated,
  remarks: ({ interval }) => interval.marks.join('; '),
  formula: ({ interval }) => interval.formula,
  entry_numbers: ({ interval, numbers }) => interval.entryIds.map((id) => numbers.get(id)).join('; '),
});

/** One row for each interval of the note, those without a length included. */
export function intervalRows(note: Note): IntervalRow[] {
  const numbers = new Map(note.lines.map(({ entry, number }) => [entry.entryId, number]));
  return note.facts.intervals.map((interval) => ({ note, interval, numbers }));
}
