import { normalise } from '../interpret/words/normalise.ts';
import type { RecordView, UtteranceView } from '../log/view.ts';
import { WORDS } from '../vocabulary/words.ts';
import rules from './notice.json';
import { questionAsked } from './asked.ts';
import { shownNow } from './shown.ts';

/** How long the line stands, ms; its fading is within that. */
export const NOTICE_MS = rules.standsMs;

/** Words that nothing was logged of, and when they were told, ms of the record's clock. */
export interface Notice {
  words: string;
  fromMs: number;
}

/** Words that the first listening made nothing of, while the others go on; times in ms of the record's clock. */
export interface Unsettled {
  heard: string;
  onsetMs: number;
  endMs: number;
  toldAtMs: number;
}

/**
 * The newest words that nothing was logged of, for the small line that tells so; null mostly. Nothing is told later
 * than two seconds after the speech (by then the next words may have been spoken), nothing that sounds like talk, and
 * nothing beside something newer on the strip. All that was not understood stays on the pad.
 * @param unsettled what is being listened to again: the log learns of it later than it is told.
 */
export function noticeAt(view: RecordView, nowMs: number, unsettled: Unsettled | null = null): Notice | null {
  const logged = view.utterances.at(-1);
  const later = unsettled !== null && unsettled.onsetMs > (logged?.onsetMs ?? -Infinity);
  const newest = later ? { ...unsettled, seq: view.events.length } : logged;
  if (newest === undefined) return null;
  if ('outcome' in newest && (newest.outcome !== 'unrecognised' || newest.entryIds.length > 0)) return null;
  const first = unsettled?.onsetMs === newest.onsetMs ? unsettled.toldAtMs : undefined;
  const fromMs = first ?? view.events[newest.seq]?.madeAtMs ?? newest.endMs;
  if (nowMs - fromMs > rules.standsMs) return null;
  const shown = shownNow(view, nowMs);
  if (shown.kind === 'paused' || (shown.kind !== 'empty' && shown.seq > newest.seq)) return null;
  return tellsOf(newest, fromMs, questionAsked(view, newest.onsetMs) !== null)
    ? { words: newest.heard, fromMs }
    : null;
}

/**
 * Whether words that were not understood are told at all.
 * @param toldAtMs when the line would appear, ms of the record's clock.
 * @param asking whether the strip showed a question when they began: then they may be meant as its answer.
 */
export const tellsOf = (
  { heard, endMs }: Pick<UtteranceView, 'heard' | 'endMs'>,
  toldAtMs: number,
  asking: boolean,
): boolean => toldAtMs - endMs <= rules.latestMs && soundsMeant(heard, asking);

/** Whether words sound as if they were meant for the log: few, with one of the trade among them. */
export function soundsMeant(words: string, asking: boolean): boolean {
  const tokens = normalise(words, WORDS);
  if (tokens.length === 0) return false;
  if (asking && tokens.length <= rules.mostWordsOfAnswer) return true;
  return (
    tokens.length <= rules.mostWords &&
    tokens.some(({ word }) => WORDS.trade.has(word) || WORDS.names.has(word))
  );
}
