import type { LogEvent, RecordFile } from '../log/events.ts';
import { rangeOf, slotInfo } from '../slots.ts';
import type { Problem } from './problem.ts';

/** Whether every event names only entries, questions and utterances that came before it, each made once. */
export function referenceProblem({ events }: RecordFile): Problem | null {
  const entries = new Set<string>();
  const questions = new Set<string>();
  const utterances = new Set<string>();
  const marks = new Set<string>();
  for (const [index, event] of events.entries()) {
    const why = lackIn(event, { entries, questions, utterances, marks });
    if (why !== null) return { place: `/events/${index}`, why };
    const far = timeProblem(event);
    if (far !== null) return { place: `/events/${index}/atMs`, why: far };
    const odd = rangeProblem(event);
    if (odd !== null) return { place: `/events/${index}`, why: odd };
    if (event.kind === 'entry' && entries.has(event.entryId))
      return { place: `/events/${index}/entryId`, why: `two entries have the name ${event.entryId}` };
    if (event.kind === 'entry') entries.add(event.entryId);
    if (event.kind === 'confirm') for (const entryId of event.entryIds) entries.add(entryId);
    if (event.kind === 'question') questions.add(event.questionId);
    if (event.kind === 'utterance') utterances.add(event.utteranceId);
    if (event.kind === 'mark') marks.add(event.markId);
  }
  return null;
}

/** Values that the app itself never puts into their slots outside of the plausible range; elsewhere it is damage. */
const CHECKED = ['ph', 'baseExcess', 'pco2', 'pco2Mmhg', 'lactate', 'score', 'grams'] as const;

function rangeProblem(event: LogEvent): string | null {
  const made =
    event.kind === 'entry' || event.kind === 'replace'
      ? [event.entry]
      : event.kind === 'confirm'
        ? event.entries
        : [];
  for (const entry of made) {
    for (const slot of CHECKED) {
      const value = entry[slot];
      const [least, most] = rangeOf(slot);
      if (value !== undefined && (value < least || value > most))
        return `${slotInfo(slot).name} ${value} lies outside ${least} to ${most}`;
    }
  }
  return null;
}

const DAY_MS = 24 * 3600 * 1000;

/** A time more than 24 h before the record began, or after the event that tells of it, is damage or a slip. */
function timeProblem(event: LogEvent): string | null {
  if (event.kind !== 'entry' && event.kind !== 'shift' && event.kind !== 'question' && event.kind !== 'mark')
    return null;
  if (event.atMs < -DAY_MS) return 'its time lies more than 24 hours before the record began';
  return event.atMs > event.madeAtMs + DAY_MS
    ? 'its time lies more than 24 hours after it was written down'
    : null;
}

function lackIn(
  event: LogEvent,
  {
    entries,
    questions,
    utterances,
    marks,
  }: Record<'entries' | 'questions' | 'utterances' | 'marks', ReadonlySet<string>>,
): string | null {
  if ('utteranceId' in event && event.utteranceId !== undefined && event.kind !== 'utterance') {
    if (!utterances.has(event.utteranceId))
      return `it names an utterance (${event.utteranceId}) that is not there`;
  }
  if (event.kind === 'question' && event.replaces !== undefined && !entries.has(event.replaces))
    return `it corrects an entry (${event.replaces}) that is not there`;
  const struck = event.kind === 'question' ? event.strikes?.find((id) => !entries.has(id)) : undefined;
  if (struck !== undefined) return `it would strike out an entry (${struck}) that is not there`;
  switch (event.kind) {
    case 'strike':
    case 'restore':
    case 'replace':
    case 'shift':
      return entries.has(event.entryId) ? null : `it names an entry (${event.entryId}) that is not there`;
    case 'confirm':
    case 'reject':
    case 'ask-again':
      return questions.has(event.questionId)
        ? null
        : `it names a question (${event.questionId}) that is not there`;
    case 'unmark':
      return marks.has(event.markId) ? null : `it names a marked time (${event.markId}) that is not there`;
    default:
      return null;
  }
}
