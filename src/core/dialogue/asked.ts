import type { Problem } from '../interpret/interpretation.ts';
import type { Entry } from '../entry.ts';
import type { EventBody, UtteranceBody } from '../log/events.ts';
import type { QuestionView, RecordView } from '../log/view.ts';

/** What the recogniser and segmenter know of one utterance; times in ms of the record's clock. */
export type SpokenUtterance = Pick<
  UtteranceBody,
  'utteranceId' | 'onsetMs' | 'endMs' | 'heard' | 'heardSecond' | 'secondListening' | 'confidence'
>;

/**
 * For how long a voice may answer a question. Project choice, no source: a "yes" said to somebody
 * else minutes later must not log anything. By touch a question can be answered at any time.
 */
const ANSWER_WINDOW_MS = 30_000;

/** Only a doubt about the words can be settled by "yes"; a missing part has to be said or typed. */
const SETTLED_BY_YES: ReadonlySet<Problem> = new Set<Problem>(['unclear']);

/** The question that a voice would answer at `atMs`: the newest one, if open and lately asked. */
export function questionAsked(view: RecordView, atMs: number): QuestionView | null {
  const newest = view.questions.findLast((question) => question.state === 'open');
  if (newest === undefined) return null;
  const utterance = view.utterances.find(({ utteranceId }) => utteranceId === newest.utteranceId);
  const askedAtMs = utterance?.endMs ?? newest.atMs;
  return atMs - askedAtMs <= ANSWER_WINDOW_MS ? newest : null;
}

/** Whether a bare "yes" says enough to answer this question. */
export const yesAnswers = (question: QuestionView): boolean => SETTLED_BY_YES.has(question.problem);

/**
 * The event that answers a question with these entries. Where the question corrects an entry,
 * the first of them takes its place instead of standing beside it.
 */
export function answerTo(question: QuestionView, entries: Entry[], newId: () => string): EventBody {
  const entryIds = entries.map((_, index) =>
    index === 0 && question.replaces !== undefined ? question.replaces : newId(),
  );
  return { kind: 'confirm', questionId: question.questionId, entryIds, entries };
}
