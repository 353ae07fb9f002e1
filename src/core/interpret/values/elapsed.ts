import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import type { Compiled } from '../sentence/compile.ts';
import { EDGE, text } from '../words/edges.ts';
import type { Command } from '../interpretation.ts';
import type { Token } from '../words/normalise.ts';
import { read } from '../sentence/read.ts';

const ELAPSED =
  /^(?:how long(?: 's)?|how many minutes|how many seconds|how much time|time elapsed|elapsed time|elapsed|time check|minutes since|time since|how far in|what's the elapsed|what is the elapsed|what's the time since|what is the time since|give me the time since|tell me how long|duration|interval|total time|running time|what's the interval|how old|seconds since|give me elapsed|say elapsed|time from|what time has passed)\b/;

const NO_ELAPSED =
  /\b(?:until|till|will|take|before|to go|does it|should|would|can|could|cord|left|wait|did you|do you|hold)\b/;

export const NOUNS: [RegExp, string][] = [
  [/\b(?:head|vertex)\b/, 'head-delivered'],
  [/\b(?:dystocia|declaration|declared|declaring|called it)\b/, 'dystocia-declared'],
  [/\b(?:help|bell|buzzer|emergency call)\b/, 'help-called'],
  [/\b(?:body|baby|birth|delivery|born)\b/, 'body-delivered'],
];

/** "how long since the head", "time since McRoberts", "how long have we been going". */
export function elapsedIn(
  tokens: readonly Token[],
  compiled: Compiled,
  vocabulary: Vocabulary,
): Command | undefined {
  const start = tokens.findIndex((token) => !EDGE.has(token.word));
  const words = text(tokens.slice(Math.max(start, 0)));
  if (!ELAPSED.test(words)) return undefined;
  const about = words.replace(ELAPSED, '').trim();
  if (NO_ELAPSED.test(about)) return undefined;
  const plain = about
    .replace(
      /\b(?:please|now|is it|has it been|it's been|it been|so far|are we at|are we|have we been|at this|going|we|has|have|it|been|is|the|since|passed|gone by|gone|that|in|for|'s|of|time|was|then|elapsed|total|everyone|ago|a|on|out|up|do we have|got)\b/g,
      '',
    )
    .trim();
  if (plain === '') return aboutCode(about);
  const named = firstCode(tokens, compiled, vocabulary);
  const noun = NOUNS.find(([pattern]) => pattern.test(about))?.[1];
  const since = named ?? noun;
  return since ? { code: 'elapsed', since } : undefined;
}

function aboutCode(about: string): Command {
  const noun = NOUNS.find(([pattern]) => pattern.test(about))?.[1];
  return noun ? { code: 'elapsed', since: noun } : { code: 'elapsed' };
}

/** The code of the first call-out named in the words, whatever stands around it. */
function firstCode(tokens: readonly Token[], compiled: Compiled, vocabulary: Vocabulary): string | undefined {
  const since = tokens.findIndex((token) => token.word === 'since');
  const from =
    since >= 0
      ? since + 1
      : tokens.findIndex((token) => token.word === 'long' || token.word === 'time' || token.word === 'much') +
        1;
  const { chunks } = read(tokens.slice(from), compiled, vocabulary);
  for (const chunk of chunks) {
    if (chunk.kind === 'anchor' && chunk.meaning.kind === 'code' && chunk.meaning.code !== 'no-effect')
      return chunk.meaning.code;
    if (chunk.kind === 'measured') return chunk.measured.entries[0]?.code;
  }
  return undefined;
}
