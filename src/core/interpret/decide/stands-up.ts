import type { Doubt } from '../interpretation.ts';
import { areLookAlikes, isTradeWord } from './rivals.ts';
import thresholds from './thresholds.json';

const limits = thresholds.doubts;

const below = (doubt: Doubt, limit: { untouchedNats: number; tunedNats: number }): boolean =>
  doubt.untouchedNats < limit.untouchedNats || doubt.tunedNats < limit.tunedNats;

/** The line of words with the rival of a doubt in its place. */
function withRival(words: readonly string[], { at, kind, rival }: Doubt): string {
  if (kind === 'dropped') return words.toSpliced(at, 1).join(' ');
  return (kind === 'instead' ? words.with(at, rival) : words.toSpliced(at, 0, rival)).join(' ');
}

export interface NearWording {
  text: string;
  kind: Doubt['kind'];
  /** The rival is alike in sound and no opposite. */
  lookAlike: boolean;
  /** So near that it outweighs two readings that read the same in print. */
  strong: boolean;
}

/**
 * The wordings that the untouched decoder, led along the tuned words, finds too near: another critical word in one
 * place. Whether they mean something else is for the caller to say.
 * `text`: the tuned reading that the doubts were made for.
 */
export function nearWordings(text: string, doubts: readonly Doubt[]): NearWording[] {
  const words = text.trim().split(/\s+/);
  return doubts
    .filter((doubt) => doubt.at < words.length || (doubt.kind === 'added' && doubt.at === words.length))
    .flatMap((doubt): NearWording[] => {
      const own = doubt.kind === 'added' ? '' : words[doubt.at]!;
      const limit = isTradeWord(doubt.rival) || isTradeWord(own) ? limits.tradeWord : limits[doubt.kind];
      if (!below(doubt, limit.near)) return [];
      const { kind, rival } = doubt;
      const lookAlike = areLookAlikes(own, rival);
      return [{ text: withRival(words, doubt), kind, lookAlike, strong: below(doubt, limit.strong) }];
    });
}
