import { asksWhatBecame } from '../../core/dialogue/asked.ts';
import type { Entry } from '../../core/entry.ts';
import type { QuestionView } from '../../core/log/view.ts';
import { slotInfo, slotsOfProblem } from '../../core/slots.ts';
import type { SlotName, Vocabulary } from '../../core/vocabulary/vocabulary.ts';
import { missingSlots, slotInput, withSlot } from './slot-choices.ts';
import { codeInfo } from '../../core/vocabulary/code-info.ts';
import { text } from '../messages/text.ts';
import { buttonWord, shortLabel, slotWord } from './short-label.ts';

/** One touch that answers a question: what it would log. */
export interface Answer {
  entries: Entry[];
  /** The value that the touch adds, where the question is about one slot. */
  slot?: { name: SlotName; value: string | number | boolean };
}

/** The entry of the question that is unclear: the marked one, else the first. */
export const unclearIndex = (question: QuestionView): number =>
  Math.max(
    0,
    question.entries.findIndex(({ unclear }) => unclear),
  );

/**
 * Answers that one touch can give. A reading is only offered where nothing of it is missing, so that
 * a touch never logs half an entry.
 */
export function answersTo(question: QuestionView, vocabulary: Vocabulary): Answer[] {
  if (question.strikes !== undefined) return [{ entries: question.entries }];
  const index = unclearIndex(question);
  const entry = question.entries[index];
  if (entry === undefined) return [];
  const slot = missingSlot(question, entry, vocabulary);
  if (slot !== undefined) {
    const input = slotInput(codeInfo(vocabulary, entry.code), slot, vocabulary);
    if (input?.kind === 'choice') {
      return input.values
        .map((value) => ({ filled: withSlot(entry, slot, value), value }))
        .filter(({ filled }) => missingSlots(filled, vocabulary).length === 0)
        .map(({ filled, value }) => ({
          entries: question.entries.with(index, filled),
          slot: { name: slot, value },
        }));
    }
  }
  const readings = [question.entries, ...question.alternatives.map(({ entries }) => entries)];
  return readings
    .filter((entries) => entries.every((each) => missingSlots(each, vocabulary).length === 0))
    .filter((entries) => !(entries === question.entries && (cannotStand(question) || wantsAWay(question))))
    .map((entries) => ({ entries: entries.map(({ unclear: _unclear, ...clear }) => clear) }));
}

/**
 * The few words on the touch that gives this answer, where the strip names the rest: the value of the slot, what
 * became of the act, "Yes" where there is one reading only, else the reading.
 */
export function answerWord(answer: Answer, question: QuestionView, vocabulary: Vocabulary): string {
  const { entries, slot } = answer;
  if (slot !== undefined) return buttonWord(slot.name, slot.value);
  if (question.strikes !== undefined || question.alternatives.length === 0)
    return text('live.answerWord.yes');
  const phase = asksWhatBecame(question)
    ? entries.find((entry, index) => entry.phase !== question.entries[index]?.phase)?.phase
    : undefined;
  if (phase !== undefined) return slotWord('phase', phase);
  return entries.map((entry) => shortLabel(entry, vocabulary)).join(' + ');
}

function missingSlot(question: QuestionView, entry: Entry, vocabulary: Vocabulary): SlotName | undefined {
  const named = slotsOfProblem(question.problem);
  if (named.length === 0) return missingSlots(entry, vocabulary)[0];
  // "Which side" of an arm or a shoulder is the baby's own: the code says which of them it has.
  const { slots } = codeInfo(vocabulary, entry.code);
  return named.find((slot) => slots.includes(slot) || slotInfo(slot).anyCode);
}

/** Whether the question is if an act began or ended: its bare name, as it was heard, says neither. */
const wantsAWay = (question: QuestionView): boolean =>
  asksWhatBecame(question) &&
  question.alternatives.some(({ entries }) => entries.some(({ phase }) => phase === 'start'));

/** The best reading of these is no answer: what was said is not in it. */
const cannotStand = ({ problem }: QuestionView): boolean =>
  problem === 'out-of-range' ||
  problem === 'value-missing' ||
  problem === 'sign-missing' ||
  problem === 'unit-missing';
