import { asksWhatBecame } from '../../core/dialogue/asked.ts';
import type { Entry } from '../../core/entry.ts';
import type { QuestionView, RecordView } from '../../core/log/view.ts';
import { problemInfo, slotInfo } from '../../core/slots.ts';
import type { Vocabulary } from '../../core/vocabulary/vocabulary.ts';
import { text } from '../messages/text.ts';
import { shortLabel, slotWord } from './short-label.ts';
import { missingSlots } from './slot-choices.ts';

/**
 * What a question wants: the missing part, yes or no, the right words for an entry that is to be corrected, what
 * became of an act, or whether something may go.
 */
export function askText(question: QuestionView, view: RecordView, vocabulary: Vocabulary): string {
  const { problem, replaces, strikes, entries, alternatives } = question;
  if (strikes !== undefined) return text('live.asks.strike');
  if (problem === 'value-missing') {
    if (replaces !== undefined) return text('live.asks.right-words');
    const missing = entries.flatMap((entry) => missingSlots(entry, vocabulary))[0];
    return (missing && slotInfo(missing).ask) ?? problemInfo(problem).ask;
  }
  const replaced = view.entries.find(({ entryId }) => entryId === replaces)?.entry;
  if (replaced !== undefined && problem === 'unclear')
    return text('live.asks.instead', { what: shortLabel(replaced, vocabulary) });
  if (asksWhatBecame(question))
    return oneOf(alternatives.flatMap((other) => phaseIn(other.entries, question)));
  return problemInfo(problem).ask;
}

/** The phase that this reading adds to what was named. */
const phaseIn = (entries: readonly Entry[], { entries: asked }: QuestionView): string[] =>
  entries.flatMap(({ phase }, index) =>
    phase !== undefined && asked[index]?.phase === undefined ? [slotWord('phase', phase)] : [],
  );

/** "Started, done or failed?" */
function oneOf(words: readonly string[]): string {
  const all = new Intl.ListFormat('en-GB', { type: 'disjunction' }).format(words);
  return `${all.replace(/^./, (letter) => letter.toUpperCase())}?`;
}
