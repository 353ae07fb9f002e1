import type { Entry } from '../entry.ts';
import type { LogEvent, RecordFile } from '../log/events.ts';
import { DAY_MS, LONGEST_MS } from '../log/time-bounds.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { entryProblem } from './entry-problem.ts';
import type { Problem } from './problem.ts';

type Names = Record<'entries' | 'questions' | 'utterances' | 'marks', Set<string>>;

/**
 * Whether every event names only entries, questions and utterances that came before it, each made once, at a time and
 * with values that this app can have written.
 * @param vocabulary without one, codes and slots are not held against the words of this device.
 */
export function referenceProblem({ events }: RecordFile, vocabulary?: Vocabulary): Problem | null {
  const names: Names = { entries: new Set(), questions: new Set(), utterances: new Set(), marks: new Set() };
  const replacedBy = new Map<string, string | undefined>();
  for (const [index, event] of events.entries()) {
    const place = `/events/${index}`;
    const why = lackIn(event, names);
    if (why !== null) return { place, why };
    const wrong =
      timeProblem(event) ?? madeTwice(event, names, replacedBy) ?? entriesProblem(event, vocabulary);
    if (wrong !== null) return { place: `${place}${wrong.place}`, why: wrong.why };
    if (event.kind === 'question') replacedBy.set(event.questionId, event.replaces);
  }
  return null;
}

/** Notes down what an event makes; what has been made before is the problem: one of the two would be lost. */
function madeTwice(
  event: LogEvent,
  names: Names,
  replacedBy: ReadonlyMap<string, string | undefined>,
): Problem | null {
  const make = (what: keyof Names, one: string, id: string, place: string): Problem | null => {
    if (names[what].has(id)) return { place, why: `two ${one} have the name ${id}` };
    names[what].add(id);
    return null;
  };
  switch (event.kind) {
    case 'entry':
      return make('entries', 'entries', event.entryId, '/entryId');
    case 'question':
      return make('questions', 'questions', event.questionId, '/questionId');
    case 'utterance':
      return make('utterances', 'utterances', event.utteranceId, '/utteranceId');
    case 'mark':
      return make('marks', 'marked times', event.markId, '/markId');
    case 'confirm': {
      if (event.entryIds.length !== event.entries.length)
        return {
          place: '/entryIds',
          why: `the answer names ${event.entryIds.length} entries and holds ${event.entries.length}`,
        };
      for (const [at, entryId] of event.entryIds.entries()) {
        // The answer to a correction stands under the name of what it corrects.
        if (entryId === replacedBy.get(event.questionId)) continue;
        const twice = make('entries', 'entries', entryId, `/entryIds/${at}`);
        if (twice !== null) return twice;
      }
      return null;
    }
    default:
      return null;
  }
}

function entriesProblem(event: LogEvent, vocabulary?: Vocabulary): Problem | null {
  const held: [string, readonly Entry[]][] =
    event.kind === 'entry' || event.kind === 'replace'
      ? [['/entry', [event.entry]]]
      : event.kind === 'confirm'
        ? [['/entries', event.entries]]
        : event.kind === 'question'
          ? [
              ['/entries', event.entries],
              ...(event.alternatives ?? []).map(
                ({ entries }, at) => [`/alternatives/${at}/entries`, entries] as [string, readonly Entry[]],
              ),
            ]
          : [];
  for (const [place, entries] of held) {
    for (const [at, entry] of entries.entries()) {
      const wrong = entryProblem(entry, vocabulary);
      if (wrong !== null)
        return { ...wrong, place: `${place}${place === '/entry' ? '' : `/${at}`}${wrong.place}` };
    }
  }
  return null;
}

/** Times that an event holds of its own, by name. */
const TIMES = ['atMs', 'onsetMs', 'endMs', 'sinceMs'] as const;

/** A time more than a day before the record began, or after the event that tells of it, is damage or a slip. */
function timeProblem(event: LogEvent): Problem | null {
  if (event.madeAtMs < -DAY_MS || event.madeAtMs > LONGEST_MS)
    return { place: '/madeAtMs', why: 'it says that it was written long before or after the record began' };
  if (event.kind === 'clock-offset' && Math.abs(event.roomMinusDeviceMs ?? 0) > DAY_MS)
    return { place: '/roomMinusDeviceMs', why: 'it moves the clock by more than a day' };
  const times = event as { [name in (typeof TIMES)[number]]?: unknown };
  for (const name of TIMES) {
    const time = times[name];
    if (typeof time !== 'number') continue;
    if (time < -DAY_MS)
      return { place: `/${name}`, why: 'its time lies more than 24 hours before the record began' };
    if (time > event.madeAtMs + DAY_MS)
      return { place: `/${name}`, why: 'its time lies more than 24 hours after it was written down' };
  }
  return event.kind === 'utterance' && event.endMs < event.onsetMs
    ? { place: '/endMs', why: 'it ends before it begins' }
    : null;
}

function lackIn(
  event: LogEvent,
  { entries, questions, utterances, marks }: Readonly<Record<keyof Names, ReadonlySet<string>>>,
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
