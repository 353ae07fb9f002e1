import type { Compiled } from '../sentence/compile.ts';
import type { Measured } from './measured.ts';
import type { Token } from '../words/normalise.ts';
import { NOTE_CODE } from '../note-code.ts';
import { wordsOf } from './numbers.ts';

/** A name that stands for no manoeuvre of the vocabulary ("hibbard manoeuvre"): asked, with the words as spoken. */
export function unnamedManoeuvreAt(
  tokens: readonly Token[],
  at: number,
  compiled: Compiled,
): Measured | undefined {
  const name = tokens[at]!.word;
  if (compiled.known.has(name) || !/^[a-z]{4,}$/.test(name)) return undefined;
  if (!/^manoeuvres?$/.test(tokens[at + 1]?.word ?? '')) return undefined;
  const to = at + 2;
  return {
    from: at,
    to,
    entries: [{ code: NOTE_CODE, text: wordsOf(tokens, at, to) }],
    problem: 'unclear',
  };
}
