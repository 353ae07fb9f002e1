import type { LogEvent } from './events.ts';
import type { EntryView, QuestionView, RecordView, UtteranceView } from './view.ts';

export type Event<K extends LogEvent['kind']> = Extract<LogEvent, { kind: K }>;

export interface Folding {
  view: RecordView;
  entries: Map<string, EntryView>;
  questions: Map<string, QuestionView>;
  utterances: Map<string, UtteranceView>;
  speechLostAtMs: { atMs: number; why?: string } | null;
  pausedAtMs: number | null;
}

export const ignore = (folding: Folding, event: LogEvent, why: string): void => {
  folding.view.withoutEffect.push({ seq: event.seq, why });
};
