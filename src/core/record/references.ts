import type { LogEvent, RecordFile } from '../log/events.ts';
import type { Problem } from './problem.ts';

/** Whether every event names only entries, questions and utterances that came before it, each made once. */
export function referenceProblem({ events }: RecordFile): Problem | null {
  const entries = new Set<string>();
  const questions = new Set<string>();
  const utterances = new Set<string>();
  for (const [index, event] of events.entries()) {
    const why = lackIn(event, entries, questions, utterances);
    if (why !== null) return { place: `/events/${index}`, why };
    if (event.kind === 'entry') entries.add(event.entryId);
    if (event.kind === 'confirm') for (const entryId of event.entryIds) entries.add(entryId);
    if (event.kind === 'question') questions.add(event.questionId);
    if (event.kind === 'utterance') utterances.add(event.utteranceId);
  }
  return null;
}

function lackIn(
  event: LogEvent,
  entries: ReadonlySet<string>,
  questions: ReadonlySet<string>,
  utterances: ReadonlySet<string>,
): string | null {
  if ('utteranceId' in event && event.utteranceId !== undefined && event.kind !== 'utterance') {
    if (!utterances.has(event.utteranceId))
      return `it names an utterance (${event.utteranceId}) that is not there`;
  }
  if (event.kind === 'question' && event.replaces !== undefined && !entries.has(event.replaces))
    return `it corrects an entry (${event.replaces}) that is not there`;
  switch (event.kind) {
    case 'strike':
    case 'restore':
    case 'replace':
    case 'shift':
      return entries.has(event.entryId) ? null : `it names an entry (${event.entryId}) that is not there`;
    case 'confirm':
    case 'reject':
      return questions.has(event.questionId)
        ? null
        : `it names a question (${event.questionId}) that is not there`;
    default:
      return null;
  }
}
