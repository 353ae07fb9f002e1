import type { QuestionView } from '../../core/log/view.ts';
import { problemInfo, slotInfo } from '../../core/slots.ts';
import type { Vocabulary } from '../../core/vocabulary/vocabulary.ts';
import { text } from '../messages/text.ts';
import { missingSlots } from './slot-choices.ts';

/** What a question wants: the missing part, yes or no, or the right words for an entry that is to be corrected. */
export function askText({ problem, replaces, entries }: QuestionView, vocabulary: Vocabulary): string {
  if (problem !== 'value-missing') return problemInfo(problem).ask;
  if (replaces !== undefined) return text('live.asks.right-words');
  const missing = entries.flatMap((entry) => missingSlots(entry, vocabulary))[0];
  return (missing && slotInfo(missing).ask) ?? problemInfo(problem).ask;
}
