import Papa from 'papaparse';
import { ALL_SLOTS, type AnySlot } from '../slots.ts';
import { NOT_RECORDED, PRACTICE_MARK, type Note, type NoteLine } from './model.ts';
import { authorText, eventAt, timingText } from './lines.ts';
import { isoText, madeText } from './times.ts';

/** Tells spreadsheet programs that the file is UTF-8. */
const BYTE_ORDER_MARK = '\uFEFF';

/**
 * One row per entry, struck ones included, UTF-8, RFC 4180. A cell that a spreadsheet would run as a
 * formula gets an apostrophe in front. No cell is empty.
 */
export function noteCsv(note: Note): string {
  const rows = note.lines.map((line) => rowOf(note, line));
  const csv = Papa.unparse(
    { fields: Object.keys(COLUMNS), data: rows },
    { newline: '\r\n', escapeFormulae: true },
  );
  return `${BYTE_ORDER_MARK}${csv}\r\n`;
}

const NOT_SPOKEN = 'not spoken';

const COLUMNS: Record<string, (note: Note, line: NoteLine) => string> = {
  kind: ({ practice }) => (practice ? PRACTICE_MARK : 'real'),
  record: ({ file }) => file.recordId,
  number: (_note, { number }) => String(number),
  state: (_note, { entry }) => (entry.status === 'struck' ? 'struck out' : 'logged'),
  when_made: (_note, { entry }) => (entry.addedLater ? 'added later' : 'at the time'),
  time: ({ view }, { entry }) => isoText(view, entry.atMs),
  from_head: (_note, { fromHead }) => fromHead,
  entry: (_note, { text }) => text,
  code: (_note, { entry }) => entry.entry.code,
  slots: (_note, { entry }) => slotsText(entry.entry),
  time_from: (_note, { entry }) => timingText(entry.timing).replace('time: ', ''),
  remarks: (_note, { marks }) => marks.join('; ') || 'none',
  made_by: (_note, { entry }) => authorText(entry.by),
  made_on: ({ view }, { entry }) =>
    madeText(eventAt(view, entry.history.at(entry.confirmedBy ? 1 : 0)!).madeAt),
  heard: (note, line) => heardIn(note, line)?.heard ?? NOT_SPOKEN,
  second_reading: (note, line) => secondReading(note, line),
  speech_from: (note, line) => speechTime(note, line, 'onsetMs'),
  speech_to: (note, line) => speechTime(note, line, 'endMs'),
  confidence: (note, line) => spokenIn(note, line)?.confidence.toFixed(2) ?? NOT_SPOKEN,
  changes: (_note, { entry }) =>
    entry.changes.map(({ kind, reason }) => `${kind}: ${reason || `reason ${NOT_RECORDED}`}`).join('; ') ||
    'none',
};

const rowOf = (note: Note, line: NoteLine): string[] =>
  Object.values(COLUMNS).map((cell) => cell(note, line) || NOT_RECORDED);

/** Slots as "side=left; style=rocking", in the order of the schema, the words as spoken last. */
function slotsText(entry: NoteLine['entry']['entry']): string {
  const { code: _code, ...slots } = entry;
  const known = ALL_SLOTS.map((slot): [string, unknown] => [slot, slots[slot]]);
  const others = Object.entries(slots).filter(([slot]) => !ALL_SLOTS.includes(slot as AnySlot));
  const told = [...known, ...others].filter(([, value]) => value !== undefined);
  const plain = (value: unknown) => (typeof value === 'object' ? JSON.stringify(value) : String(value));
  return told.map(([slot, value]) => `${slot}=${plain(value)}`).join('; ') || 'none';
}

const heardIn = ({ view }: Note, { entry }: NoteLine) =>
  entry.utteranceId === undefined
    ? undefined
    : view.utterances.find((u) => u.utteranceId === entry.utteranceId);

function spokenIn(note: Note, line: NoteLine) {
  const utterance = heardIn(note, line);
  return utterance?.typedBy ? undefined : utterance;
}

function secondReading(note: Note, line: NoteLine): string {
  const utterance = spokenIn(note, line);
  return utterance === undefined ? NOT_SPOKEN : (utterance.heardSecond ?? 'no second reading');
}

function speechTime(note: Note, line: NoteLine, end: 'onsetMs' | 'endMs'): string {
  const utterance = spokenIn(note, line);
  return utterance === undefined ? NOT_SPOKEN : isoText(note.view, utterance[end]);
}
