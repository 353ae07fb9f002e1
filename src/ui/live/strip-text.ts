import { newestMade } from '../../core/dialogue/newest.ts';
import type { AskedOfTool, Shown } from '../../core/dialogue/shown.ts';
import type { Entry } from '../../core/entry.ts';
import { lengthBetween } from '../../core/facts/logged.ts';
import { landmarksOf } from '../../core/facts/running.ts';
import type { EntryView, RecordView } from '../../core/log/view.ts';
import type { Vocabulary } from '../../core/vocabulary/vocabulary.ts';
import { roomTime } from '../common/times.ts';
import { text } from '../messages/text.ts';
import { askText } from './ask-text.ts';
import { shortLabel } from './short-label.ts';

/** The strip in words and form. `filled`: logged; `outlined`: a question; `quiet`: anything else. */
export interface StripText {
  form: 'filled' | 'outlined' | 'quiet';
  what: string;
  how: string;
  struck?: true;
}

/** Words of the strip. @param view of the same record, for clocks and answers. */
export function stripText(shown: Shown, view: RecordView, vocabulary: Vocabulary, deaf = false): StripText {
  const label = (entries: readonly Entry[]) =>
    entries.map((entry) => shortLabel(entry, vocabulary)).join(' + ');
  const names = (entries: readonly EntryView[]) => label(entries.map(({ entry }) => entry));
  const minute = (atMs: number) => roomTime(view, atMs).slice(0, 5);
  switch (shown.kind) {
    case 'empty':
      return { form: 'quiet', what: text(deaf ? 'live.strip.emptyDeaf' : 'live.strip.empty'), how: '' };
    case 'paused':
      return { form: 'quiet', what: text('live.strip.paused'), how: text('live.strip.pausedHint') };
    case 'logged':
      return {
        form: 'filled',
        what: names(shown.entries),
        how: text(`live.strip.${shown.change}`, { time: minute(shown.atMs) }),
      };
    case 'struck':
      return { form: 'quiet', what: names(shown.entries), how: text('live.strip.struck'), struck: true };
    case 'question':
      return {
        form: 'outlined',
        what: label(shown.question.entries),
        how: askText(shown.question, view, vocabulary),
      };
    case 'withdrawn':
      return {
        form: 'quiet',
        what: label(shown.question.entries),
        how: text('live.strip.withdrawn'),
        struck: true,
      };
    case 'marked':
      return {
        form: 'filled',
        what: text('live.strip.marked'),
        how: text('live.strip.markedAt', { time: minute(shown.atMs) }),
      };
    case 'answer':
      return { form: 'quiet', ...answerText(shown.asked, view, label) };
  }
}

/** What the tool answers to "elapsed", "clock" and "read back", for the moment it was asked. */
export function answerText(
  asked: AskedOfTool,
  view: RecordView,
  label: (entries: readonly Entry[]) => string,
): { what: string; how: string } {
  if (asked.code === 'next-question') return { what: text('live.answer.noQuestion'), how: '' };
  if (asked.code === 'clock') return { what: text('live.answer.clock'), how: roomTime(view, asked.atMs) };
  if (asked.code === 'read-back') {
    const last = newestMade(view, ({ madeAtMs }) => madeAtMs <= asked.atMs);
    if (last === null) return { what: text('live.answer.nothing'), how: '' };
    return { what: label([last.entry]), how: roomTime(view, last.atMs) };
  }
  const code = asked.since ?? 'head-delivered';
  const since =
    code === 'head-delivered'
      ? landmarksOf(view).headMs
      : (view.entries.findLast(({ entry, status }) => status === 'logged' && entry.code === code)?.atMs ??
        null);
  const what = label([{ code }]);
  if (since === null || since > asked.atMs) return { what: text('live.answer.notYet', { what }), how: '' };
  return { what: text('live.answer.since', { what }), how: lengthBetween(view, since, asked.atMs) };
}
