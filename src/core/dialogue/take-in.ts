import type { Heard, InterpretContext, Interpretation } from '../interpret/interpretation.ts';
import { interpretListened, type Listened } from '../interpret/decide/listen-again.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { questionAsked } from './asked.ts';
import type { EventBody } from '../log/events.ts';
import { respond } from './respond.ts';
import { newestMade, SAME_CODE_BACK_MS } from './newest.ts';
import type { RecordView } from '../log/view.ts';

/** What the recogniser heard, with its place in the record; times in ms of the record's clock. */
export interface HeardUtterance {
  onsetMs: number;
  endMs: number;
  heard: Heard;
  /** What was heard when the same sound was listened to again, at other speeds; in order. */
  again?: readonly Heard[];
}

export interface Understood extends Listened {
  /** Set where the interpreter itself failed; the words are kept as not understood. */
  fault?: unknown;
}

/** Commands that are obeyed while the record is paused. */
const WHILE_PAUSED: readonly string[] = [
  'resume',
  'confirm',
  'reject',
  'undo',
  'next-question',
  'finish',
  'drill-end',
];

/**
 * Takes one utterance in: interprets its words and gives the events to append, for the app and the command line
 * alike. While the record is paused, talk is not kept, and what sounds like a call-out becomes a question:
 * a pause was asked for, yet a call-out must not be lost.
 */
export function takeIn(
  utterance: HeardUtterance,
  view: RecordView,
  vocabulary: Vocabulary,
  newId: () => string,
): Understood & { bodies: EventBody[] } {
  const { onsetMs, endMs } = utterance;
  const understood = understand(utterance, view, vocabulary);
  const { meaning, heard, secondListening } = understood;
  const { confidence } = meaning;
  const spoken = {
    utteranceId: newId(),
    onsetMs,
    endMs,
    heard: heard.tuned.text,
    heardSecond: heard.untouched?.text,
    secondListening,
    confidence,
  };
  const taken = view.paused ? whilePaused(meaning) : meaning;
  return { ...understood, bodies: taken ? respond(taken, spoken, view, newId) : [] };
}

/** A fault of the interpreter must not lose the words: they stay in the log, for the helper to turn into an entry. */
function understand(
  { onsetMs, heard, again = [] }: HeardUtterance,
  view: RecordView,
  vocabulary: Vocabulary,
): Understood {
  try {
    return interpretListened(heard, again, contextOf(view, onsetMs, vocabulary), vocabulary);
  } catch (fault) {
    return { meaning: { outcome: 'unrecognised', entries: [], confidence: 0 }, heard, more: false, fault };
  }
}

/** What an utterance means by all its listenings, where there is no record yet to answer in. */
export const meaningOf = (
  utterance: HeardUtterance,
  view: RecordView,
  vocabulary: Vocabulary,
): Interpretation => understand(utterance, view, vocabulary).meaning;

/** What it means by all its listenings, then by each listening alone. */
export const meaningsOf = (
  utterance: HeardUtterance,
  view: RecordView,
  vocabulary: Vocabulary,
): Interpretation[] => [
  meaningOf(utterance, view, vocabulary),
  ...(utterance.again ?? []).map((heard) => meaningOf({ ...utterance, heard, again: [] }, view, vocabulary)),
];

/** Whether an utterance is worth another listening before it is taken in. */
export const worthAgain = (utterance: HeardUtterance, view: RecordView, vocabulary: Vocabulary): boolean =>
  understand(utterance, view, vocabulary).more;

/** The moment that the words are understood in: what is asked, which entry "no, the left" means, what was tried. */
export function contextOf(view: RecordView, atMs: number, vocabulary: Vocabulary): InterpretContext {
  const last = newestMade(
    view,
    ({ entry, madeAtMs }) =>
      (entry.side ?? entry.babySide) !== undefined &&
      madeAtMs <= atMs &&
      atMs - madeAtMs <= SAME_CODE_BACK_MS,
  )?.entry;
  const isManoeuvre = (code: string): boolean => vocabulary.codes.get(code)?.group === 'manoeuvres';
  const tried = newestMade(view, ({ entry }) => isManoeuvre(entry.code)) !== null;
  const hasBasis = (code: string): boolean =>
    vocabulary.codes.get(code)?.requiredAgain?.includes('basis') === true;
  const measuredLoss = newestMade(view, ({ entry }) => hasBasis(entry.code)) !== null;
  return {
    asking: questionAsked(view, atMs) !== null,
    ...(last ? { last } : {}),
    tried,
    ...(measuredLoss ? { measuredLoss } : {}),
  };
}

function whilePaused(interpretation: Interpretation): Interpretation | null {
  switch (interpretation.outcome) {
    case 'unrecognised':
      return null;
    case 'command':
      return WHILE_PAUSED.includes(interpretation.command.code) ? interpretation : null;
    case 'accept':
      return { ...interpretation, outcome: 'ask', problem: 'unclear' };
    case 'ask':
      return interpretation;
  }
}
