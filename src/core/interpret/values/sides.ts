import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { single, type Call } from '../sentence/calls.ts';
import type { Token } from '../words/normalise.ts';
import type { SideChunk } from '../sentence/segment.ts';

export function sideSlot(call: Call, vocabulary: Vocabulary): 'side' | 'babySide' | undefined {
  const code = single(call)?.code;
  const slots = code ? vocabulary.codes.get(code)?.slots : undefined;
  return slots?.includes('side') ? 'side' : slots?.includes('babySide') ? 'babySide' : undefined;
}

/** "right" as a word of attention: at the start, or set off, and no side of anything. */
export function isAttention(
  chunk: SideChunk,
  tokens: readonly Token[],
  first: boolean,
  otherSide: boolean,
  nextTakesSide: boolean,
): boolean {
  // "right side" and "right hand side" name a side and nothing else.
  if (chunk.side !== 'right' || chunk.owner || chunk.to - chunk.from > 1) return false;
  const setOff = tokens[chunk.to]?.afterPause === true;
  if (first && (setOff || otherSide || !nextTakesSide)) return true;
  const alone = chunk.to === tokens.length && tokens[chunk.from]?.afterPause === true;
  return alone;
}

/** Puts a side into the slot of a call; whose side it is must fit the slot. */
export function setSide(call: Call, chunk: SideChunk, vocabulary: Vocabulary): void {
  const slot = sideSlot(call, vocabulary);
  const entry = single(call);
  if (!slot || !entry) return;
  const owner = slot === 'side' ? 'mother' : 'baby';
  const foreign = chunk.owner !== undefined && chunk.owner !== owner;
  const before = entry[slot];
  if (foreign || (before !== undefined && before !== chunk.side)) {
    delete entry[slot];
    call.problem = 'unclear';
    call.alternatives = (['left', 'right'] as const).map((side) => [{ ...entry, [slot]: side }]);
    return;
  }
  entry[slot] = chunk.side;
}
