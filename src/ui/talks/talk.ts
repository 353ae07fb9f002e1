import type { ConversationBody } from '../../core/log/events.ts';

/** What is typed of one talk. */
export type Talk = Omit<ConversationBody, 'kind' | 'conversationId'>;

/** What was said in it: at least one of them is given. */
export const SAID = ['explained', 'asked', 'followUp', 'nextPregnancy'] as const;

export const emptyTalk = (heldAt: string): Talk => ({
  heldAt,
  who: '',
  withWhom: '',
  explained: '',
  asked: '',
  followUp: '',
  nextPregnancy: '',
});

export type TalkProblem = 'when' | 'future' | 'before' | 'who' | 'withWhom' | 'empty';

/**
 * Why a talk cannot be kept as typed, or null.
 * @param now local date and time, "2026-10-16T10:30"
 * @param firstDay day on which the record began, "2026-10-14"
 */
export function talkProblem(talk: Talk, now: string, firstDay: string): TalkProblem | null {
  if (!/^\d{4}-\d{2}-\d{2}T\d{2}:\d{2}/.test(talk.heldAt)) return 'when';
  if (talk.heldAt.slice(0, 16) > now) return 'future';
  if (talk.heldAt.slice(0, 10) < firstDay) return 'before';
  if (!talk.who.trim()) return 'who';
  if (!talk.withWhom.trim()) return 'withWhom';
  return SAID.every((part) => !talk[part].trim()) ? 'empty' : null;
}

/** Without spaces around what was typed. */
export const trimmed = (talk: Talk): Talk => ({
  heldAt: talk.heldAt,
  who: talk.who.trim(),
  withWhom: talk.withWhom.trim(),
  explained: talk.explained.trim(),
  asked: talk.asked.trim(),
  followUp: talk.followUp.trim(),
  nextPregnancy: talk.nextPregnancy.trim(),
});

/** "2026-10-16 10:30" of "2026-10-16T10:30". */
export const heldOn = (heldAt: string): string => heldAt.replace('T', ' ');
