import type { Token } from './normalise.ts';

export const EDGE = new Set([
  'okay',
  'ok',
  'so',
  'please',
  'now',
  'right',
  'um',
  'uh',
  'er',
  'well',
  'then',
  'and',
  'everyone',
  'hey',
  'just',
  'erm',
  'thanks',
  'oh',
  'hm',
  'hmm',
  'alright',
  'sorry',
  'there',
  'log',
  'actually',
  'team',
  'guys',
  'quick',
  'quickly',
]);

export const text = (tokens: readonly Token[]): string => tokens.map((token) => token.word).join(' ');

/** The utterance without fillers at its ends, tried from the whole to the shortest. */
export function* trimmed(tokens: readonly Token[]): Generator<readonly Token[]> {
  let from = 0;
  while (true) {
    let to = tokens.length;
    while (to > from) {
      yield tokens.slice(from, to);
      if (!EDGE.has(tokens[to - 1]!.word)) break;
      to -= 1;
    }
    if (from >= tokens.length || !EDGE.has(tokens[from]!.word)) return;
    from += 1;
  }
}
