import type { Call } from '../sentence/calls.ts';
import type { Chunk } from '../sentence/segment.ts';

/** The next or last call from a place, with only modifiers and fillers between. */
export function neighbour(
  chunks: readonly Chunk[],
  calls: ReadonlyMap<Chunk, Call>,
  index: number,
  step: 1 | -1,
): Call | undefined {
  for (let at = index + step; at >= 0 && at < chunks.length; at += step) {
    const chunk = chunks[at]!;
    const call = calls.get(chunk);
    if (call) return call;
    if (chunk.kind === 'marker' && chunk.marker === 'or') continue;
    if (chunk.kind === 'unknown' || chunk.kind === 'marker' || chunk.kind === 'time') {
      if (chunk.kind === 'time' && step === -1) continue;
      return undefined;
    }
    if (step === 1 && chunk.kind === 'phase' && at > index) return undefined;
  }
  return undefined;
}
