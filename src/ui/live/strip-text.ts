import type { Entry } from '../../core/entry.ts';
import type { RecordView } from '../../core/log/view.ts';
import type { Vocabulary } from '../../core/vocabulary/vocabulary.ts';
import { minutesSeconds, roomTime } from '../common/times.ts';
import { text } from '../messages/text.ts';
import { landmarksOf } from './clocks.ts';
import { shortLabel } from './short-label.ts';
import type { AskedOfTool, Strip } from './strip.ts';
import { askText } from './ask-text.ts';

/** The strip in words and form. `filled`: logged; `outlined`: a question; `quiet`: anything else. */
export interface StripText {
  form: 'filled' | 'outlined' | 'quiet';
  what: string;
  how: string;
  struck?: true;
}

/** Words of the strip. @param view of the same record, for clocks and answers. */
export function stripText(strip: Strip, view: RecordView, vocabulary: Vocabulary, deaf = false): StripText {
  const label = (entries: Entry[]) => entries.map((entry) => shortLabel(entry, vocabulary)).join(' + ');
  const minute = (atMs: number) => roomTime(view, atMs).slice(0, 5);
  switch (strip.kind) {
    case 'empty':
      return { form: 'quiet', what: text(deaf ? 'live.strip.emptyDeaf' : 'live.strip.empty'), how: '' };
    case 'logged':
      return {
        form: 'filled',
        what: label(strip.entries),
        how: text(`live.strip.${strip.change}`, { time: minute(strip.atMs) }),
      };
    case 'struck':
      return { form: 'quiet', what: label([strip.entry]), how: text('live.strip.struck'), struck: true };
    case 'question':
      return {
        form: 'outlined',
        what: label(strip.question.entries),
        how: askText(strip.question, vocabulary),
      };
    case 'marked':
      return {
        form: 'filled',
        what: text('live.strip.marked'),
        how: text('live.strip.markedAt', { time: minute(strip.atMs) }),
      };
    case 'answer':
      return { form: 'quiet', ...answerText(strip.asked, view, label) };
  }
}

/** What the tool answers to "elapsed", "clock" and "read back", for the moment it was asked. */
export function answerText(
  asked: AskedOfTool,
  view: RecordView,
  label: (entries: Entry[]) => string,
): { what: string; how: string } {
  if (asked.code === 'clock') return { what: text('live.answer.clock'), how: roomTime(view, asked.atMs) };
  if (asked.code === 'read-back') {
    const last = view.entries.findLast(
      ({ status, madeAtMs }) => status === 'logged' && madeAtMs <= asked.atMs,
    );
    if (last === undefined) return { what: text('live.answer.nothing'), how: '' };
    return { what: label([last.entry]), how: roomTime(view, last.atMs) };
  }
  const { headMs } = landmarksOf(view);
  const code = asked.since ?? 'head-delivered';
  const since =
    code === 'head-delivered'
      ? headMs
      : (view.entries.findLast(({ entry, status }) => status === 'logged' && entry.code === code)?.atMs ??
        null);
  const what = label([{ code }]);
  if (since === null || since > asked.atMs) return { what: text('live.answer.notYet', { what }), how: '' };
  return { what: text('live.answer.since', { what }), how: minutesSeconds(asked.atMs - since) };
}
