import type { Versions } from './clashes.ts';
import type { LogEvent } from './events.ts';
import type { Knowledge } from './lanes.ts';
import type { EntryView, QuestionView, RecordView, UtteranceView } from './view.ts';

export type Event<K extends LogEvent['kind']> = Extract<LogEvent, { kind: K }>;

export interface Folding {
  view: RecordView;
  entries: Map<string, EntryView>;
  questions: Map<string, QuestionView>;
  utterances: Map<string, UtteranceView>;
  /** Null where one device alone wrote: nothing can clash. */
  knowledge: Knowledge | null;
  /** By entry. */
  versions: Map<string, Versions>;
  speechLostAtMs: { atMs: number; why?: string } | null;
  pausedAtMs: number | null;
}

export const ignore = (folding: Folding, event: LogEvent, why: string): void => {
  folding.view.withoutEffect.push({ seq: event.seq, why });
};
