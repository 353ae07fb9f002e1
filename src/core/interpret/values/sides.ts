import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { single, type Call } from '../sentence/calls.ts';
import type { Token } from '../words/normalise.ts';
import { wordsOf } from './numbers.ts';
import type { SideChunk } from '../sentence/segment.ts';

type SlotOfSide = 'side' | 'babySide' | 'hand';

const slotsOf = (call: Call, vocabulary: Vocabulary): readonly string[] =>
  vocabulary.codes.get(single(call)?.code ?? '')?.slots ?? [];

/** The slot in which a call keeps a left or right of mother or baby, if it keeps one. */
export function sideSlot(call: Call, vocabulary: Vocabulary): 'side' | 'babySide' | undefined {
  const slots = slotsOf(call, vocabulary);
  return slots.includes('side') ? 'side' : slots.includes('babySide') ? 'babySide' : undefined;
}

export const takesHand = (call: Call | undefined, vocabulary: Vocabulary): boolean =>
  call !== undefined && slotsOf(call, vocabulary).includes('hand');

/** Is a side meant as the operator's hand: "right hand in", "with my left", "using the right"? */
export function isHandSide(chunk: SideChunk, tokens: readonly Token[]): boolean {
  if (chunk.owner) return chunk.owner === 'speaker';
  if (tokens[chunk.to]?.word === 'hand' || tokens[chunk.to - 1]?.word === 'hand') return true;
  const before = tokens.slice(Math.max(0, chunk.from - 2), chunk.from).map(({ word }) => word);
  return before.at(-1) === 'my' || before.at(-1) === 'with' || /^(with|using) the$/.test(before.join(' '));
}

/** The slot that a side is said for, with whose side and whose hand told apart. */
export function slotFor(
  call: Call,
  chunk: SideChunk,
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): SlotOfSide | undefined {
  const slot = sideSlot(call, vocabulary);
  if (takesHand(call, vocabulary) && isHandSide(chunk, tokens)) return 'hand';
  return slot;
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
  if (tokens[chunk.to]?.word === 'mediolateral') return false;
  if (first && (setOff || otherSide || !nextTakesSide)) return true;
  const alone = chunk.to === tokens.length && tokens[chunk.from]?.afterPause === true;
  return alone;
}

/** Puts a value into a slot of a call and of every other reading of it that has the slot. */
export function putSlot(
  call: Call,
  slot: SlotOfSide,
  value: 'left' | 'right' | 'both',
  vocabulary: Vocabulary,
): void {
  const entry = single(call)!;
  if (entry[slot] !== undefined && entry[slot] !== value) {
    delete entry[slot];
    call.problem = 'unclear';
    call.doubtful = true;
    call.alternatives = (['left', 'right'] as const).map((side) => [{ ...entry, [slot]: side }]);
    return;
  }
  Object.assign(entry, { [slot]: value });
  for (const [other] of call.alternatives ?? [])
    if (other && vocabulary.codes.get(other.code)?.slots.includes(slot))
      Object.assign(other, { [slot]: value });
}

/** Puts a side into the slot of a call; whose side it is must fit the slot. */
export function setSide(
  call: Call,
  chunk: SideChunk,
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): void {
  const slot = single(call) && slotFor(call, chunk, tokens, vocabulary);
  if (!slot) return keepAsSpoken(call, chunk, tokens);
  const owner = slot === 'side' ? 'mother' : slot === 'hand' ? 'speaker' : 'baby';
  if (chunk.owner === undefined || chunk.owner === owner) return putSlot(call, slot, chunk.side, vocabulary);
  const entry = single(call)!;
  delete entry[slot];
  call.problem = 'unclear';
  call.doubtful = true;
  call.alternatives = (['left', 'right'] as const).map((side) => [{ ...entry, [slot]: side }]);
}

/** What has no slot in this call is kept in its own words and asked about. */
export function keepAsSpoken(
  call: Call,
  { from, to }: { from: number; to: number },
  tokens: readonly Token[],
): void {
  call.problem ??= 'unclear';
  call.doubtful = true;
  const words = wordsOf(tokens, from, tokens[to]?.word === 'mediolateral' ? to + 1 : to);
  call.entries = call.entries.map((entry) => ({
    ...entry,
    spoken: entry.spoken === undefined ? words : `${entry.spoken}, ${words}`,
  }));
}
