import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { single, type Call } from './calls.ts';
import { neighbour } from '../words/neighbour.ts';
import type { Token } from '../words/normalise.ts';
import type { Chunk } from './segment.ts';
import { isAttention, setSide, sideSlot } from '../values/sides.ts';

export function bindSides(
  chunks: readonly Chunk[],
  calls: ReadonlyMap<Chunk, Call>,
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): boolean {
  let loose = false;
  const sides = chunks.filter((chunk) => chunk.kind === 'side');
  for (const [chunk, call] of calls) {
    if (chunk.kind === 'anchor') chunk.sides.forEach((side) => setSide(call, side, vocabulary));
  }
  chunks.forEach((chunk, index) => {
    if (chunk.kind !== 'side') return;
    const first = chunks.slice(0, index).every((other) => other.kind === 'benign' || other.kind === 'light');
    const previous = neighbour(chunks, calls, index, -1);
    const next = neighbour(chunks, calls, index, 1);
    const nextSlot = next && sideSlot(next, vocabulary);
    const otherSide = sides.length > 1;
    if (isAttention(chunk, tokens, first, otherSide, nextSlot !== undefined)) return;
    const previousSlot = previous && sideSlot(previous, vocabulary);
    const preposition = /^(from|on|to|the|towards|over)$/.test(tokens[chunk.from - 1]?.word ?? '');
    const touching = next && chunk.to === next.from;
    const target =
      previousSlot &&
      (preposition || !nextSlot || !touching || !hasSide(next!)) &&
      !(touching && nextSlot && hasSide(previous!))
        ? previous
        : nextSlot
          ? next
          : previousSlot
            ? previous
            : undefined;
    if (!target) {
      loose ||= ![previous, next].some((call) => call && WITHOUT_SIDE.has(single(call)?.code ?? ''));
      return;
    }
    setSide(target, chunk, vocabulary);
    // "right suprapubic pressure": a side, or a word of attention?
    if (
      first &&
      target === next &&
      chunk.side === 'right' &&
      !chunk.owner &&
      sideSlot(target, vocabulary) === 'side'
    ) {
      const entry = single(target)!;
      target.problem ??= 'unclear';
      target.alternatives ??= [[{ ...entry, side: undefined }].map(({ side: _, ...rest }) => rest)];
    }
  });
  return loose;
}

/** Codes that are said with a side which they do not keep: "left posterior arm out", "right hand in". */
const WITHOUT_SIDE = new Set([
  'posterior-arm',
  'internal-entry',
  'episiotomy',
  'rubin-2',
  'mcroberts',
  'posterior-axilla-traction',
]);

const hasSide = (call: Call): boolean =>
  single(call)?.side !== undefined || single(call)?.babySide !== undefined;

/** What a recogniser leaves of "anti-": after one of these, "clockwise" may be its opposite. */
const MAYBE_ANTI = /^(to|too|two|in|into|on|onto|an|a|and|any|until|under|anti|ante|auntie|aunty)$/;

const mayBeOpposite = (chunk: Chunk & { kind: 'direction' }, tokens: readonly Token[]): boolean =>
  chunk.direction === 'clockwise' &&
  !tokens[chunk.from]!.afterPause &&
  MAYBE_ANTI.test(tokens[chunk.from - 1]?.word ?? '');

export function bindOthers(
  chunks: readonly Chunk[],
  calls: ReadonlyMap<Chunk, Call>,
  tokens: readonly Token[],
): boolean {
  let loose = false;
  chunks.forEach((chunk, index) => {
    if (chunk.kind !== 'style' && chunk.kind !== 'direction') return;
    const wanted =
      chunk.kind === 'style' ? /^suprapubic-pressure$/ : /^(woods-screw|reverse-woods-screw|rubin-2)$/;
    const target = [neighbour(chunks, calls, index, -1), neighbour(chunks, calls, index, 1)].find(
      (call) => call && wanted.test(single(call)?.code ?? ''),
    );
    const entry = target && single(target);
    if (!target || !entry) {
      loose = true;
      return;
    }
    if (chunk.kind === 'style') {
      if (entry.style && entry.style !== chunk.style) target.problem ??= 'unclear';
      entry.style = chunk.style;
    } else if (entry.code === 'woods-screw') {
      if (entry.direction && entry.direction !== chunk.direction) target.problem ??= 'unclear';
      entry.direction = chunk.direction;
      if (mayBeOpposite(chunk, tokens)) {
        target.problem ??= 'unclear';
        target.alternatives ??= [[{ ...entry, direction: 'anticlockwise' }]];
      }
    }
  });
  return loose;
}
