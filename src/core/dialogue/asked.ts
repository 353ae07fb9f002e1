import type { Problem } from '../interpret/interpretation.ts';
import type { Entry } from '../entry.ts';
import type { EventBody, UtteranceBody } from '../log/events.ts';
import type { QuestionView, RecordView } from '../log/view.ts';
import { isOpenAt, shownAt } from './shown.ts';

/** What the recogniser and segmenter know of one utterance; times in ms of the record's clock. */
export type SpokenUtterance = Pick<
  UtteranceBody,
  'utteranceId' | 'onsetMs' | 'endMs' | 'heard' | 'heardSecond' | 'secondListening' | 'confidence'
>;

/**
 * Where a question stands in its life. `asked`: it is on the strip; strip, voice and pad answer it. `open`: its time
 * is up, or something newer is on the strip; it is counted there and on the pad, and comes back by "next question"
 * or a touch. `answered` and `withdrawn` are its ends; a withdrawn one can be asked again.
 */
export type QuestionLife = 'asked' | 'open' | 'answered' | 'withdrawn';

/** @param atMs record time, ms. */
export function lifeOf(question: QuestionView, view: RecordView, atMs: number): QuestionLife {
  if (!isOpenAt(question, atMs)) return question.state === 'confirmed' ? 'answered' : 'withdrawn';
  return questionAsked(view, atMs)?.questionId === question.questionId ? 'asked' : 'open';
}

/** The question that the strip shows at `atMs`, and that a voice whose speech begins then answers. */
export function questionAsked(view: RecordView, atMs: number): QuestionView | null {
  const shown = shownAt(view, atMs);
  return shown.kind === 'question' ? shown.question : null;
}

/** All that nobody has answered or withdrawn, the one on the strip among them; oldest first. */
export const openQuestions = (view: RecordView): QuestionView[] =>
  view.questions.filter(({ state }) => state === 'open');

/**
 * The question that "next question" brings to the strip: the one not looked at for longest, so that saying it again
 * goes through all of them. Null where none is open.
 */
export function nextQuestion(view: RecordView, atMs: number): QuestionView | null {
  const open = new Map(openQuestions(view).map((question) => [question.questionId, question]));
  const lastShown = new Map<string, number>();
  for (const event of view.events) {
    if (event.kind === 'question' || event.kind === 'ask-again')
      if (open.has(event.questionId)) lastShown.set(event.questionId, event.seq);
  }
  const byAge = [...lastShown].sort(([, a], [, b]) => a - b).map(([id]) => id);
  const here = questionAsked(view, atMs)?.questionId;
  const next = byAge.find((id) => id !== here) ?? here;
  return (next === undefined ? undefined : open.get(next)) ?? null;
}

/** Only a doubt about the words can be settled by "yes"; a missing part has to be said or typed. */
const SETTLED_BY_YES: ReadonlySet<Problem> = new Set<Problem>(['unclear']);

/** Whether a bare "yes" says enough to answer this question. */
export const yesAnswers = (question: QuestionView): boolean =>
  SETTLED_BY_YES.has(question.problem) && !asksWhatBecame(question);

/**
 * Whether the question is what became of an act that was named and no more: every other reading is the same act with
 * its beginning or an end.
 */
export function asksWhatBecame({ problem, entries, alternatives }: QuestionView): boolean {
  if (problem !== 'unclear' || alternatives.length === 0) return false;
  return alternatives.every((alternative) => {
    const named = alternative.entries.filter((entry, index) => {
      const was = entries[index];
      return was?.code === entry.code && was.phase === undefined && entry.phase !== undefined;
    });
    return named.length === 1 && alternative.entries.length === entries.length;
  });
}

/**
 * The events that answer a question with these entries. Where the question corrects an entry, the first of them takes
 * its place instead of standing beside it; where it is whether to strike out, what it names is struck out.
 */
export function answerTo(question: QuestionView, entries: Entry[], newId: () => string): EventBody[] {
  const { questionId, strikes, replaces } = question;
  if (strikes !== undefined) {
    return [
      { kind: 'confirm', questionId, entryIds: [], entries: [] },
      ...strikes.map((entryId) => ({ kind: 'strike' as const, entryId })),
    ];
  }
  const entryIds = entries.map((_, index) => (index === 0 && replaces !== undefined ? replaces : newId()));
  return [{ kind: 'confirm', questionId, entryIds, entries }];
}
