import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { single, type Call } from './calls.ts';
import { neighbour } from '../words/neighbour.ts';
import type { Token } from '../words/normalise.ts';
import type { Chunk, HandChunk, SideChunk } from './segment.ts';
import { isAttention, keepAsSpoken, putSlot, setSide, slotFor, takesHand } from '../values/sides.ts';

/** Puts sides and hands into the slots of the calls that they are said of. @returns whether one belongs to nothing. */
export function bindSides(
  chunks: readonly Chunk[],
  calls: ReadonlyMap<Chunk, Call>,
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): boolean {
  for (const [chunk, call] of calls) {
    if (chunk.kind === 'anchor') chunk.sides.forEach((side) => setSide(call, side, tokens, vocabulary));
  }
  const several = chunks.filter((chunk) => chunk.kind === 'side').length > 1;
  let loose = false;
  chunks.forEach((chunk, index) => {
    if (chunk.kind === 'hand') loose = bindHand(chunk, index, chunks, calls, tokens, vocabulary) || loose;
    if (chunk.kind === 'side')
      loose = bindSide(chunk, index, several, { chunks, calls, tokens, vocabulary }) || loose;
  });
  return loose;
}

interface Around {
  chunks: readonly Chunk[];
  calls: ReadonlyMap<Chunk, Call>;
  tokens: readonly Token[];
  vocabulary: Vocabulary;
}

/** @returns whether the hand belongs to nothing that was said. */
function bindHand(
  chunk: HandChunk,
  index: number,
  chunks: readonly Chunk[],
  calls: ReadonlyMap<Chunk, Call>,
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): boolean {
  const previous = neighbour(chunks, calls, index, -1);
  const next = neighbour(chunks, calls, index, 1);
  const fits = (call: Call | undefined): boolean => takesHand(call, vocabulary);
  const free = fits(previous) && single(previous!)?.hand === undefined;
  const target = free || (fits(previous) && !fits(next)) ? previous : fits(next) ? next : undefined;
  if (target && !chunk.foreign) {
    putSlot(target, 'hand', chunk.hand, vocabulary);
    return false;
  }
  const said = target ?? previous ?? next;
  if (said) keepAsSpoken(said, chunk, tokens);
  return said === undefined;
}

/** @returns whether the side belongs to nothing that was said. */
function bindSide(
  chunk: SideChunk,
  index: number,
  several: boolean,
  { chunks, calls, tokens, vocabulary }: Around,
): boolean {
  const first = chunks.slice(0, index).every((other) => other.kind === 'benign' || other.kind === 'light');
  const previous = neighbour(chunks, calls, index, -1);
  const next = neighbour(chunks, calls, index, 1);
  const slotOf = (call: Call | undefined) => call && slotFor(call, chunk, tokens, vocabulary);
  const [nextSlot, previousSlot] = [slotOf(next), slotOf(previous)];
  const touching = next !== undefined && chunk.to === next.from;
  // "right, going for the posterior arm": of the baby's arm only where it stands before it.
  const takes = nextSlot !== undefined && (nextSlot === 'side' || touching);
  if (!(takes && nextSlot === 'babySide') && isAttention(chunk, tokens, first, several, takes)) return false;
  // "left arm's not moving": of what it stands before, whatever was said earlier.
  const adjective = touching && nextSlot === 'babySide';
  const preposition = /^(from|on|to|the|towards|over)$/.test(tokens[chunk.from - 1]?.word ?? '');
  const usePrevious =
    previousSlot &&
    (preposition || !adjective) &&
    (preposition || !nextSlot || !touching || !hasSide(next!)) &&
    !(touching && nextSlot && hasSide(previous!));
  const target = usePrevious ? previous : nextSlot ? next : undefined;
  if (!target) {
    const said = previous ?? next;
    // "the consultant has left" names no side.
    if (!said || /^role-/.test(single(said)?.code ?? '')) return true;
    keepAsSpoken(said, chunk, tokens);
    return false;
  }
  setSide(target, chunk, tokens, vocabulary);
  if (first && target === next && nextSlot === 'side' && chunk.side === 'right' && !chunk.owner)
    mayBeAttention(target);
  return false;
}

/** "right suprapubic pressure": a side, or a word of attention? */
function mayBeAttention(call: Call): void {
  const { side: _side, ...rest } = single(call)!;
  call.problem ??= 'unclear';
  call.alternatives ??= [[rest]];
}

const hasSide = (call: Call): boolean =>
  single(call)?.side !== undefined || single(call)?.babySide !== undefined;

/** What a recogniser leaves of "anti-": after one of these, "clockwise" may be its opposite. */
const MAYBE_ANTI = /^(to|too|two|in|into|on|onto|an|a|and|any|until|under|anti|ante|auntie|aunty)$/;

const mayBeOpposite = (
  chunk: Chunk & { kind: 'direction' },
  before: Chunk | undefined,
  tokens: readonly Token[],
): boolean =>
  chunk.direction === 'clockwise' &&
  // The "two" of "Rubin two clockwise" is accounted for.
  before?.kind !== 'anchor' &&
  !tokens[chunk.from]!.afterPause &&
  MAYBE_ANTI.test(tokens[chunk.from - 1]?.word ?? '');

/** Puts style and direction into the call that they are said of. @returns whether one belongs to nothing. */
export function bindOthers(
  chunks: readonly Chunk[],
  calls: ReadonlyMap<Chunk, Call>,
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): boolean {
  let loose = false;
  chunks.forEach((chunk, index) => {
    if (chunk.kind !== 'style' && chunk.kind !== 'direction') return;
    const takes = (call: Call | undefined): boolean =>
      vocabulary.codes.get((call && single(call))?.code ?? '')?.slots.includes(chunk.kind) === true;
    const target = [neighbour(chunks, calls, index, -1), neighbour(chunks, calls, index, 1)].find(takes);
    const entry = target && single(target);
    if (!target || !entry) {
      loose = true;
      return;
    }
    const value = chunk.kind === 'style' ? chunk.style : chunk.direction;
    const before = entry[chunk.kind];
    if (before && before !== value) target.problem ??= 'unclear';
    Object.assign(entry, { [chunk.kind]: value });
    if (chunk.kind === 'direction' && mayBeOpposite(chunk, chunks[index - 1], tokens)) {
      target.problem ??= 'unclear';
      target.alternatives ??= [[{ ...entry, direction: 'anticlockwise' }]];
    }
  });
  return loose;
}
