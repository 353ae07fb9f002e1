import type { QuestionView } from '../../core/log/view.ts';
import { text } from '../messages/text.ts';

/** What a question wants: the missing part, yes or no, or the right words for an entry that is to be corrected. */
export const askText = ({ problem, replaces }: QuestionView): string =>
  replaces !== undefined && problem === 'value-missing'
    ? text('live.asks.right-words')
    : text(`live.asks.${problem}`);
