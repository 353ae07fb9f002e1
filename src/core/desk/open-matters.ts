import type { Facts } from '../facts/derive.ts';
import type { Conflict, SideQuestion } from '../facts/types.ts';
import { withoutReason } from '../log/after-signing.ts';
import type { EntryView, QuestionView, RecordView } from '../log/view.ts';

/** Something of a record that waits for a person's answer. `id` is what a `stands` event calls it. */
export type OpenMatter =
  /** Call-outs after the last signature for which nobody gave a reason. */
  | { kind: 'after-signing'; id: string; count: number }
  | { kind: 'question'; id: string; question: QuestionView }
  | { kind: 'conflict'; id: string; conflict: Conflict; entries: EntryView[] }
  | { kind: 'side'; id: string; side: SideQuestion };

/**
 * What is open in a record, in the order in which it is asked at the desk: questions that were heard, entries that
 * disagree, sides that nobody gave. What a person left as recorded is not open, unless an entry of it changed since.
 */
export function openMatters(view: RecordView, facts: Pick<Facts, 'conflicts' | 'sides'>): OpenMatter[] {
  const late = withoutReason(view);
  const entries = new Map(view.entries.map((entry) => [entry.entryId, entry]));
  const left = (id: string, entryIds: readonly string[] = []): boolean => {
    const seq = Object.hasOwn(view.stands, id) ? view.stands[id]!.seq : -1;
    return seq >= 0 && entryIds.every((entryId) => entries.get(entryId)!.history.every((at) => at < seq));
  };
  return [
    ...(late > 0 ? [{ kind: 'after-signing', id: 'after-signing', count: late } as const] : []),
    ...view.questions
      .filter(({ state }) => state === 'open')
      .map((question): OpenMatter => ({ kind: 'question', id: question.questionId, question })),
    ...facts.conflicts
      .filter(({ id, entryIds }) => !left(id, entryIds))
      .map((conflict): OpenMatter => {
        const of = conflict.entryIds.map((entryId) => entries.get(entryId)!);
        return { kind: 'conflict', id: conflict.id, conflict, entries: of };
      }),
    ...facts.sides.questions
      .filter(({ id }) => !left(id))
      .map((side): OpenMatter => ({ kind: 'side', id: side.id, side })),
  ];
}
