import type { Phase } from '../../entry.ts';
import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { setPhase, single, takesPhase, type Call } from './calls.ts';
import { neighbour } from '../words/neighbour.ts';
import type { Token } from '../words/normalise.ts';
import type { Chunk } from './segment.ts';

const AFTER_BY_NATURE =
  /(ed|done|off|on|effect|good|joy|luck|cut|made|begun|working|worked|works|success|successful|failed|out|delivered)$/;

export function bindPhases(
  chunks: readonly Chunk[],
  calls: Map<Chunk, Call>,
  tokens: readonly Token[],
  vocabulary: Vocabulary,
  noEffect: ReadonlySet<string>,
): boolean {
  let loose = false;
  chunks.forEach((chunk, index) => {
    if (chunk.kind !== 'phase') return;
    const { phase, before, after } = chunk.word;
    const previous =
      after && !(tokens[chunk.from]!.afterPause && before) ? neighbour(chunks, calls, index, -1) : undefined;
    const next = before ? neighbour(chunks, calls, index, 1) : undefined;
    const fitsPrevious = previous && canTake(previous, phase, vocabulary);
    const fitsNext = next && canTake(next, phase, vocabulary);
    const preferPrevious = AFTER_BY_NATURE.test(chunk.text) || !fitsNext;
    const target =
      fitsPrevious && preferPrevious ? previous : fitsNext ? next : fitsPrevious ? previous : undefined;
    if (!target && phase === 'failed' && noEffect.has(chunk.text)) {
      calls.set(chunk, {
        from: chunk.from,
        to: chunk.to,
        strong: false,
        entries: [{ code: 'no-effect' }],
      });
      return;
    }
    if (!target) {
      loose ||= !harmless(phase, chunk.text, previous ?? next);
      if (phase === 'failed' || phase === 'stop') {
        const denied = next ?? previous;
        if (denied) denied.voided = true;
      }
      return;
    }
    setPhase(target, phase, vocabulary);
    if (target === next) spread(chunks, calls, target, phase, tokens, vocabulary);
  });
  return loose;
}

/** "help called, done" says nothing more; "the paediatrician's come out" and "samples sent on" do. */
const SAYS_MORE = /^(out|on)$/;
const harmless = (phase: Phase, text: string, call: Call | undefined): boolean =>
  call !== undefined &&
  !(SAYS_MORE.test(text) && /^(role-|drug-given$|cord-samples)/.test(call.entries[0]?.code ?? '')) &&
  (phase === 'start' || phase === 'done' || phase === 'succeeded');

function canTake(call: Call, phase: Phase, vocabulary: Vocabulary): boolean {
  return takesPhase(call, phase, vocabulary) === 'takes';
}

/** "start McRoberts and suprapubic pressure": the order holds for both. */
function spread(
  chunks: readonly Chunk[],
  calls: ReadonlyMap<Chunk, Call>,
  first: Call,
  phase: Phase,
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): void {
  let joined = false;
  for (const chunk of chunks.slice(chunks.findIndex((other) => calls.get(other) === first) + 1)) {
    const call = calls.get(chunk);
    if (call) {
      const entry = single(call);
      const ownPhase = chunks.some(
        (other) => other.kind === 'phase' && other.from >= chunk.to && other.word.after,
      );
      if (joined && !ownPhase && entry && !entry.phase && canTake(call, phase, vocabulary))
        entry.phase = phase;
      return;
    }
    if (chunk.kind === 'light' && tokens[chunk.from]!.word === 'and') joined = true;
    else if (chunk.kind !== 'light' && chunk.kind !== 'benign' && chunk.kind !== 'side') return;
  }
}
