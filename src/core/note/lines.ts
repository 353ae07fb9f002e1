import { clockText } from '../facts/logged.ts';
import type { SecondListening } from '../interpret/interpretation.ts';
import type { Author, LogEvent, Timing } from '../log/events.ts';
import type { EntryView, RecordView, UtteranceView } from '../log/view.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { NOT_RECORDED, type NoteLine } from './model.ts';
import { phrase } from './phrase.ts';
import { fromHead, madeText, timeText } from './times.ts';

const AUTHORS: Record<Author['kind'], string> = {
  voice: 'voice',
  helper: 'helper',
  reviewer: 'reviewer',
  facilitator: 'facilitator',
  import: 'import',
  system: 'the app',
};

/** "helper", or "helper (A. Name)" where a name was typed. */
export const authorText = ({ kind, name }: Author): string =>
  name ? `${AUTHORS[kind]} (${name})` : AUTHORS[kind];

const TIMINGS: Record<Timing, string> = {
  heard: 'time: start of the speech',
  'spoken-ago': 'time: as said, before the speech',
  'spoken-clock': 'time: as said, by the clock',
  touch: 'time: moment of the touch',
  typed: 'time: typed in',
  corrected: 'time: corrected by hand',
};
export const timingText = (timing: Timing): string => TIMINGS[timing];

/** Numbered lines of all entries in time order, struck ones included. */
export function noteLines(view: RecordView, vocabulary: Vocabulary): NoteLine[] {
  const utterances = new Map(view.utterances.map((utterance) => [utterance.utteranceId, utterance]));
  return view.entries.map((entry, index) => {
    const utterance = entry.utteranceId === undefined ? undefined : utterances.get(entry.utteranceId);
    return {
      number: index + 1,
      entry,
      time: timeText(view, entry.atMs),
      fromHead: fromHead(view, entry.atMs),
      text: lineText(entry, vocabulary),
      marks: marksOf(view, entry, vocabulary),
      provenance: provenanceOf(view, entry, utterance),
    };
  });
}

function lineText({ entry }: EntryView, vocabulary: Vocabulary): string {
  const label = phrase(entry, vocabulary);
  return entry.spoken === undefined ? label : `${label} (said: \u201c${entry.spoken}\u201d)`;
}

function marksOf(view: RecordView, e: EntryView, vocabulary: Vocabulary): string[] {
  const marks: string[] = [];
  if (e.estimated) marks.push('time estimated');
  const shift = e.changes.findLast(({ kind }) => kind === 'shift');
  if (shift !== undefined) marks.push(`time corrected, was ${clockText(view, shift.atMs)}`);
  const replaced = e.changes.findLast(({ kind }) => kind === 'replace');
  if (replaced !== undefined) marks.push(`corrected, was: ${phrase(replaced.entry, vocabulary)}`);
  if (e.confirmedBy !== undefined) marks.push(`confirmed by ${authorText(e.confirmedBy)}`);
  const signed = view.signatures[0];
  if (signed !== undefined && e.history.some((seq) => seq > signed.seq)) marks.push('AFTER SIGNING');
  return marks;
}

/** A reason as typed, without the full stop that the sentence brings itself. */
export const reasonText = (reason: string | undefined): string =>
  reason?.replace(/[.\s]+$/, '') || NOT_RECORDED;

/** The event of this number: its place in the log, unless events are missing. */
export function eventAt(view: RecordView, seq: number): LogEvent {
  const there = view.events[seq];
  const found = there?.seq === seq ? there : view.events.find((event) => event.seq === seq);
  if (found === undefined) throw new Error(`The log holds no event ${seq}. Import the record again.`);
  return found;
}

function provenanceOf(view: RecordView, e: EntryView, utterance?: UtteranceView): string[] {
  if (utterance !== undefined) return [heardText(view, utterance), timingText(e.timing)];
  const when = ` on ${madeText(eventAt(view, e.history[0]!).madeAt)}`;
  const how = e.timing === 'touch' ? 'entered by touch' : 'typed in';
  return [`${how} by ${authorText(e.by)}${when}`, timingText(e.timing)];
}

/** What listening again gave, and whose readings are told. */
const LISTENINGS: Record<SecondListening, string> = {
  confirmed: 'confirmed by listening again at another speed, which gave these readings; ',
  found: 'found by listening again at another speed, which gave these readings; ',
  alternative: 'listening again at another speed gave one more answer; ',
  doubted: 'listening again at two other speeds did not give the same; ',
};

/** The words as heard, the second reading, when in the audio, and how sure; or that they were typed. */
export function heardText(view: RecordView, utterance: UtteranceView): string {
  const { heard, heardSecond, secondListening, inStandby, onsetMs, endMs, confidence, typedBy } = utterance;
  if (typedBy)
    return `call-out \u201c${heard}\u201d typed by ${authorText(typedBy)} at ${timeText(view, onsetMs)}`;
  const second =
    heardSecond === undefined
      ? 'no second reading'
      : heardSecond === heard
        ? 'second reading the same'
        : `second reading \u201c${heardSecond}\u201d`;
  const listened = secondListening === undefined ? '' : LISTENINGS[secondListening];
  const length = ((endMs - onsetMs) / 1000).toFixed(1);
  const sure = `confidence ${confidence.toFixed(2)}`;
  const where = inStandby ? ' in standby, before the record began' : '';
  return `heard${where} \u201c${heard}\u201d; ${second}; ${listened}speech from ${timeText(view, onsetMs)} for ${length} s; ${sure}`;
}
