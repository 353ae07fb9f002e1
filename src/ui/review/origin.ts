import type { Author, LogEvent } from '../../core/log/events.ts';
import type { EntryView, RecordView } from '../../core/log/view.ts';
import { entryLabel } from '../../core/vocabulary/entry-label.ts';
import type { Vocabulary } from '../../core/vocabulary/vocabulary.ts';
import { roomMoment } from '../entry-form/desk-times.ts';
import { text, textFor } from '../messages/text.ts';

/** Where a time comes from, in a word or two: "heard", "typed", "corrected, estimated". */
export function timingWord({ timing, estimated }: Pick<EntryView, 'timing' | 'estimated'>): string {
  const word = textFor('desk.timing', timing, timing);
  return estimated ? text('desk.timing.estimated', { word }) : word;
}

/** Who made something: the kind of person or part, and the name where one was typed. */
export function authorWord(by: Author): string {
  const kind = textFor('desk.author', by.kind, by.kind);
  return by.name ? text('desk.author.named', { kind, name: by.name }) : kind;
}

/** What one event did, in one line. */
export function eventLine(event: LogEvent, view: RecordView, vocabulary: Vocabulary): string {
  const at = (ms: number) => roomMoment(view, ms);
  switch (event.kind) {
    case 'entry':
      return text('desk.event.entry', { what: entryLabel(event.entry, vocabulary), time: at(event.atMs) });
    case 'question': {
      const what = event.entries.map((entry) => entryLabel(entry, vocabulary)).join('; ');
      return text('desk.event.question', { what: what || text('desk.event.nothing') });
    }
    case 'confirm': {
      const what = event.entries.map((entry) => entryLabel(entry, vocabulary)).join('; ');
      return text('desk.event.confirm', { what });
    }
    case 'replace':
      return text('desk.event.replace', { what: entryLabel(event.entry, vocabulary) });
    case 'shift':
      return text('desk.event.shift', { time: at(event.atMs) });
    default:
      return textFor('desk.event', event.kind, event.kind);
  }
}

/** The reason that came with an event, where it can have one. */
export const reasonOf = (event: LogEvent): string | undefined =>
  'reason' in event ? event.reason : undefined;
