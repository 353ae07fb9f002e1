import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { sideSlot } from '../values/sides.ts';
import type { Token } from '../words/normalise.ts';
import { single, type Call } from './calls.ts';
import data from './cut-off.json';
import type { Chunk } from './segment.ts';

type Awaits = 'side' | 'time' | 'value' | 'more';

const TAILS = (Object.entries(data.tails) as [Awaits, string[]][])
  .flatMap(([awaits, tails]) => tails.map((tail) => ({ awaits, words: tail.split(' ') })))
  .sort((a, b) => b.words.length - a.words.length);

/** What the last words of an utterance wait for, where they cannot be its end: "suprapubic pressure from the". */
function cutOff(tokens: readonly Token[], chunks: readonly Chunk[]): Awaits | undefined {
  const tail = TAILS.find(
    ({ words }) =>
      words.length < tokens.length &&
      words.every((word, offset) => tokens[tokens.length - words.length + offset]!.word === word),
  );
  if (!tail) return undefined;
  // "three a", "at this point": the last words belong to something whole.
  const from = tokens.length - tail.words.length;
  const open = chunks.every(
    (chunk) =>
      chunk.to <= from || (chunk.from >= from && chunk.to === chunk.from + 1 && chunk.kind !== 'time'),
  );
  return open ? tail.awaits : undefined;
}

/** Marks the call that broke off. @returns true where a time was about to be said. */
export function markCutOff(
  tokens: readonly Token[],
  chunks: readonly Chunk[],
  calls: readonly Call[],
  vocabulary: Vocabulary,
): boolean {
  const awaits = cutOff(tokens, chunks);
  const last = calls.findLast((call) => !call.voided);
  if (!awaits || !last) return false;
  if (awaits === 'time') return true;
  const entry = single(last);
  const slot = sideSlot(last, vocabulary);
  if (awaits === 'side' && entry && slot && entry[slot] === undefined) {
    last.problem ??= 'side-missing';
    last.alternatives ??= (['left', 'right'] as const).map((side) => [{ ...entry, [slot]: side }]);
  } else last.problem ??= awaits === 'value' ? 'value-missing' : 'unclear';
  return false;
}
