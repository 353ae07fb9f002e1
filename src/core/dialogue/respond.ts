import type { Entry } from '../entry.ts';
import type { Command, Interpretation, Problem } from '../interpret/interpretation.ts';
import {
  answerTo,
  asksWhatBecame,
  nextQuestion,
  questionAsked,
  yesAnswers,
  type SpokenUtterance,
} from './asked.ts';
import { askIfBare } from './bare-name.ts';
import { recordMsOfSpokenClock } from '../log/clock.ts';
import type { EventBody, Timing } from '../log/events.ts';
import data from './landmarks.json';
import { newestMade, SAME_CODE_BACK_MS } from './newest.ts';
import { shownAt } from './shown.ts';
import { askInstead, isLandmark, strike, undoOf } from './undo.ts';
import type { EntryView, QuestionView, RecordView } from '../log/view.ts';

/** A spoken offset further back than this is asked about. Project choice. */
const AGO_LIMIT_SECONDS = 6 * 3600;

interface Time {
  atMs: number;
  timing: Timing;
  estimated?: true;
}

/**
 * The events that one interpreted utterance appends, in order: the utterance itself first, always.
 * A spoken time that cannot be placed turns the line into a question; nothing is guessed. Answers and "undo" are
 * about what the strip showed when the speech began; what came later stays as it is.
 * @param newId makes a fresh name for each entry, question or mark.
 */
export function respond(
  interpretation: Interpretation,
  utterance: SpokenUtterance,
  view: RecordView,
  newId: () => string,
): EventBody[] {
  const { utteranceId, onsetMs } = utterance;
  const { outcome, when } = interpretation;
  const command = interpretation.outcome === 'command' ? interpretation.command : undefined;
  const spoken: EventBody = {
    ...withoutUndefined({ kind: 'utterance', ...utterance, command, when } as const),
    outcome,
  };
  const time = timeOf(interpretation, onsetMs, view);
  const answers = respondTo(interpretation, { utteranceId, onsetMs, time, view, newId });
  const asked = answers.some((body) => body.kind === 'question');
  return [asked && outcome === 'accept' ? { ...spoken, outcome: 'ask' } : spoken, ...answers];
}

interface Moment {
  utteranceId: string;
  onsetMs: number;
  /** Null where a spoken time cannot be placed. */
  time: Time | null;
  view: RecordView;
  newId: () => string;
}

function respondTo(interpretation: Interpretation, moment: Moment): EventBody[] {
  switch (interpretation.outcome) {
    case 'unrecognised':
      return [];
    case 'ask':
      return interpretation.command?.code === 'correct'
        ? askCorrection(interpretation, answered(moment), moment)
        : [ask(interpretation.entries, interpretation.problem, moment, interpretation.alternatives)];
    case 'accept':
      return accept(interpretation.entries, moment);
    case 'command':
      return obey(interpretation.command, interpretation.entries, moment);
  }
}

/** Onset of the speech, or the spoken time before it; spoken times are good to a minute at best. */
function timeOf(interpretation: Interpretation, onsetMs: number, view: RecordView): Time | null {
  const { when } = interpretation;
  if (when === undefined) return { atMs: onsetMs, timing: 'heard' };
  if ('agoSeconds' in when) {
    if (!(when.agoSeconds >= 0 && when.agoSeconds <= AGO_LIMIT_SECONDS)) return null;
    return { atMs: onsetMs - when.agoSeconds * 1000, timing: 'spoken-ago', estimated: true };
  }
  const atMs = recordMsOfSpokenClock(view, when.clock, onsetMs);
  return atMs === null ? null : { atMs, timing: 'spoken-clock', estimated: true };
}

function ask(
  entries: Entry[],
  problem: Problem,
  { utteranceId, onsetMs, time, newId }: Moment,
  alternatives?: QuestionView['alternatives'],
  replaces?: string,
): EventBody {
  return withoutUndefined({
    kind: 'question',
    questionId: newId(),
    utteranceId,
    entries,
    alternatives: alternatives?.length ? alternatives : undefined,
    problem,
    replaces,
    ...(time ?? { atMs: onsetMs, timing: 'heard' as const }),
  } as const);
}

/** The question that the strip showed when the speech began, unless somebody has settled it since. */
function answered({ view, onsetMs }: Moment): QuestionView | null {
  const question = questionAsked(view, onsetMs);
  return question?.state === 'open' ? question : null;
}

function accept(entries: Entry[], moment: Moment): EventBody[] {
  const { time, view, utteranceId, newId } = moment;
  if (time === null) return [ask(entries, 'time-unclear', moment)];
  const question = answered(moment);
  const [only] = entries;
  if (question !== null && entries.length === 1 && completes(only!, question)) {
    return answerTo(question, entries, newId);
  }
  const told = question !== null && tellsWhatBecame(entries, question);
  const bare = told ? null : askIfBare(entries, view, time.atMs);
  if (bare !== null) return [ask(bare.entries, 'unclear', moment, bare.alternatives)];
  return [
    // What became of it is an entry of its own, of its own time; nothing is left to ask.
    ...(told ? [{ kind: 'reject', questionId: question.questionId } as const] : []),
    ...entries.map((entry) => ({ kind: 'entry', entryId: newId(), entry, ...time, utteranceId }) as const),
  ];
}

/** Codes that by themselves say what became of whatever is under way. */
const OUTCOMES: ReadonlySet<string> = new Set(data.outcomes);

/** Whether a clear call-out says what became of the act that is asked about. */
const tellsWhatBecame = (entries: readonly Entry[], question: QuestionView): boolean =>
  asksWhatBecame(question) &&
  entries.some(
    ({ code, phase }) =>
      OUTCOMES.has(code) || (phase !== undefined && question.entries.some((asked) => asked.code === code)),
  );

/**
 * Whether a clear call-out is the same one again with its missing part: "cord pH seven one five",
 * then "arterial pH seven one five". All that the question knew must agree.
 */
function completes(entry: Entry, question: QuestionView): boolean {
  if (question.strikes !== undefined || asksWhatBecame(question)) return false;
  if (question.problem === 'time-unclear' || question.entries.length !== 1) return false;
  if (yesAnswers(question)) return readingsOf(question).some((reading) => isSame(reading, entry));
  // "Correction", then the right words in a breath of their own.
  if (question.replaces !== undefined && question.problem === 'value-missing')
    return entry.code === question.entries[0]!.code;
  const { unclear: _unclear, spoken: _spoken, ...known } = question.entries[0]!;
  const said = entry as unknown as Record<string, unknown>;
  return Object.entries(known).every(([slot, value]) => value === undefined || said[slot] === value);
}

/** The single entries that an unclear question offers. */
const readingsOf = ({ entries, alternatives }: QuestionView): Entry[] =>
  [entries, ...alternatives.map((alternative) => alternative.entries)].flatMap((reading) =>
    reading.length === 1 ? reading : [],
  );

function isSame(reading: Entry, entry: Entry): boolean {
  const told = ({ unclear: _unclear, spoken: _spoken, ...slots }: Entry) =>
    Object.entries(slots).filter(([, value]) => value !== undefined);
  const said = new Map(told(entry));
  const read = told(reading);
  return read.length === said.size && read.every(([slot, value]) => said.get(slot) === value);
}

function obey(command: Command, entries: Entry[], moment: Moment): EventBody[] {
  const { view, onsetMs: atMs, utteranceId, newId } = moment;
  const question = answered(moment);
  switch (command.code) {
    case 'undo':
      return undo(command.target, moment);
    case 'correct':
      return correct(entries, question, moment);
    case 'confirm': {
      if (question === null || !yesAnswers(question)) return [];
      return answerTo(question, question.entries, newId);
    }
    case 'reject':
      return question === null ? [] : [{ kind: 'reject', questionId: question.questionId }];
    case 'mark':
      return [{ kind: 'mark', markId: newId(), atMs: moment.time?.atMs ?? atMs, utteranceId }];
    case 'begin':
      return view.finishedAtMs === null ? [] : [{ kind: 'reopen', atMs }];
    case 'drill-begin':
      // What was called out for real is never turned into a drill by a word: only an empty record is.
      return view.mode === 'practice' || view.entries.length > 0 || view.questions.length > 0
        ? []
        : [{ kind: 'begin', mode: 'practice' }];
    case 'drill-end':
      return view.mode === 'practice' && view.finishedAtMs === null ? [{ kind: 'finish', atMs }] : [];
    case 'finish':
      return view.finishedAtMs === null ? [{ kind: 'finish', atMs }] : [];
    case 'pause':
      return view.paused ? [] : [{ kind: 'pause', atMs }];
    case 'resume':
      return view.paused ? [{ kind: 'resume', atMs }] : [];
    case 'next-question': {
      const next = nextQuestion(view, atMs);
      return next === null ? [] : [{ kind: 'ask-again', questionId: next.questionId }];
    }
    case 'elapsed':
    case 'clock':
    case 'read-back':
    case 'baby-clock':
      return [];
  }
}

/** Takes back what the strip showed; where an entry is named, the newest of that code that stood by then. */
function undo(target: string | undefined, { view, onsetMs, utteranceId, newId }: Moment): EventBody[] {
  const named = (): EntryView | null =>
    newestMade(view, ({ entry, madeAtMs }) => entry.code === target && madeAtMs <= onsetMs);
  const last = target === undefined ? null : named();
  const found =
    target === undefined
      ? undoOf(shownAt(view, onsetMs), view, newId, onsetMs)
      : last && strike([last], newId, onsetMs);
  return (found?.bodies ?? []).map((body) => (body.kind === 'question' ? { ...body, utteranceId } : body));
}

/**
 * Replaces the entry that a correction is about. An open question is answered by it; what is itself unclear is
 * asked, and the answer replaces too. "Correction" alone asks for the right words of the newest entry.
 */
function correct(entries: Entry[], question: QuestionView | null, moment: Moment): EventBody[] {
  const { time, onsetMs, utteranceId, newId } = moment;
  const [entry] = entries;
  if (entry === undefined) return question === null ? askRightWords(moment) : [];
  if (time === null || (entries.length > 1 && question === null)) {
    const problem = time === null ? 'time-unclear' : 'unclear';
    return askCorrection({ entries, problem }, question, moment);
  }
  if (question !== null && question.strikes === undefined) return answerTo(question, entries, newId);
  const target = corrected(entry, moment);
  if (target === null) return [{ kind: 'entry', entryId: newId(), entry, ...time, utteranceId }];
  const { entryId } = target;
  // A landmark makes way for another act only after a "yes".
  if (isLandmark(target.entry) && target.entry.code !== entry.code)
    return [{ ...askInstead(entry, entryId, newId, onsetMs, utteranceId), ...time }];
  const replaced: EventBody = { kind: 'replace', entryId, entry, utteranceId };
  if (time.timing === 'heard') return [replaced];
  return [replaced, { kind: 'shift', entryId, atMs: time.atMs, estimated: true }];
}

/** The entry that a correction to `entry` is about: the newest of its code if lately made, else the newest. */
const corrected = (entry: Entry, { view, onsetMs }: Moment): EntryView | null =>
  newestMade(
    view,
    ({ entry: { code }, madeAtMs }) =>
      code === entry.code && madeAtMs <= onsetMs && onsetMs - madeAtMs <= SAME_CODE_BACK_MS,
  ) ?? newestMade(view, ({ madeAtMs }) => madeAtMs <= onsetMs);

type Asked = Pick<QuestionView, 'entries' | 'problem'> & { alternatives?: QuestionView['alternatives'] };

function askCorrection(asked: Asked, question: QuestionView | null, moment: Moment): EventBody[] {
  const { entries, problem, alternatives } = asked;
  const [entry] = entries;
  // A question that is corrected was never logged: the new one stands in its place.
  const dropped: EventBody[] = question ? [{ kind: 'reject', questionId: question.questionId }] : [];
  const target = question ? question.replaces : entry && corrected(entry, moment)?.entryId;
  return [...dropped, ask(entries, problem, moment, alternatives, target)];
}

function askRightWords(moment: Moment): EventBody[] {
  const target = newestMade(moment.view, ({ madeAtMs }) => madeAtMs <= moment.onsetMs);
  if (target === null) return [];
  return [ask([target.entry], 'value-missing', moment, undefined, target.entryId)];
}

function withoutUndefined<T extends object>(value: T): T {
  return Object.fromEntries(Object.entries(value).filter(([, v]) => v !== undefined)) as T;
}
