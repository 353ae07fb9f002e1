import type { ConversationBody, LogEvent } from '../log/events.ts';
import type { RecordView } from '../log/view.ts';

/** A talk as it was written at one time. */
export type TalkWritten = LogEvent & ConversationBody;

/** Everything that was written of one talk, oldest first; the last stands, those before it were corrected. */
export const talkVersions = (view: RecordView, conversationId: string): TalkWritten[] =>
  view.events.filter(
    (event): event is TalkWritten => event.kind === 'conversation' && event.conversationId === conversationId,
  );
