import type { Phase } from '../entry.ts';
import type { Vocabulary } from '../vocabulary/vocabulary.ts';
import { attitudes } from './attitude.ts';
import {
  callFrom,
  callFromMeasured,
  callFromRole,
  setPhase,
  single,
  takesPhase,
  type Call,
} from './calls.ts';
import type { Compiled } from './compile.ts';
import type { SpokenTime } from './interpretation.ts';
import type { Token } from './normalise.ts';
import { segment, type Chunk } from './segment.ts';
import { isAttention, setSide, sideSlot } from './sides.ts';

/** What one reading of an utterance says, before it is judged. */
export interface Sense {
  calls: Call[];
  times: (SpokenTime | 'unclear')[];
  /** Words that no part of the vocabulary explains, outside questions and plans. */
  unknown: number;
  /** Where they stand. */
  unexplained: number[];
  /** Words of the utterance that carry meaning. */
  content: number;
  /** A "no" or a phase that belongs to nothing. */
  loose: boolean;
  chunks: Chunk[];
}

/** Calls by their chunk, in spoken order. */
function makeCalls(chunks: readonly Chunk[]): Map<Chunk, Call> {
  const calls = new Map<Chunk, Call>();
  for (const chunk of chunks) {
    if (chunk.kind === 'anchor') calls.set(chunk, callFrom(chunk));
    else if (chunk.kind === 'role') calls.set(chunk, callFromRole(chunk));
    else if (chunk.kind === 'measured') calls.set(chunk, callFromMeasured(chunk));
  }
  return calls;
}

/** The next or last call from a place, with only modifiers and fillers between. */
function neighbour(
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

const AFTER_BY_NATURE =
  /(ed|done|off|on|effect|good|joy|luck|cut|made|begun|working|worked|works|success|successful|failed|out|delivered)$/;

function bindPhases(
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

/** "help called, done" says nothing more; "the paediatrician's come out" does. */
const harmless = (phase: Phase, text: string, call: Call | undefined): boolean =>
  call !== undefined &&
  !(text === 'out' && /^role-/.test(call.entries[0]?.code ?? '')) &&
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

function bindSides(
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

function bindOthers(chunks: readonly Chunk[], calls: ReadonlyMap<Chunk, Call>): boolean {
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
    }
  });
  return loose;
}

/** Required slots that nothing filled. */
function missing(call: Call, vocabulary: Vocabulary): void {
  if (call.problem) return;
  for (const entry of call.entries) {
    const required = vocabulary.codes.get(entry.code)?.required ?? [];
    const gap = required.find((slot) => entry[slot] === undefined);
    if (!gap) continue;
    call.problem = gap === 'side' || gap === 'babySide' ? 'side-missing' : 'value-missing';
    if (call.problem === 'side-missing') {
      call.alternatives = (['left', 'right'] as const).map((side) => [{ ...entry, [gap]: side }]);
    }
    return;
  }
}

/** The spoken times; "head out two minutes ago, baby out now" holds two. */
function timesIn(chunks: readonly Chunk[], calls: number, tokens: readonly Token[]): Sense['times'] {
  const times = chunks.flatMap((chunk) =>
    chunk.kind === 'time' ? [chunk.time.time ?? ('unclear' as const)] : [],
  );
  const now = times.length > 0 && calls > 1 && tokens.some(({ word }) => word === 'now');
  return now ? [...times, 'unclear'] : times;
}

/** Reads a token stream: chunks, calls with their slots, times, and what stays unexplained. */
export function read(tokens: readonly Token[], compiled: Compiled, vocabulary: Vocabulary): Sense {
  const chunks = segment(tokens, compiled, vocabulary);
  const calls = makeCalls(chunks);
  const loosePhase = bindPhases(chunks, calls, tokens, vocabulary, compiled.noEffect);
  const looseSide = bindSides(chunks, calls, tokens, vocabulary);
  const looseOther = bindOthers(chunks, calls);
  const { voidFrom, looseNegation } = attitudes(chunks, calls, tokens, vocabulary);
  for (const call of calls.values()) missing(call, vocabulary);
  const live = (chunk: Chunk): boolean => !voidFrom.has(chunk);
  return {
    calls: [...calls.values()].filter((call) => !call.voided).sort((a, b) => a.from - b.from),
    times: timesIn(chunks.filter(live), calls.size, tokens),
    unexplained: chunks.flatMap((chunk) => (chunk.kind === 'unknown' && live(chunk) ? [chunk.from] : [])),
    unknown: chunks.filter((chunk) => chunk.kind === 'unknown' && live(chunk)).length,
    content: chunks.reduce(
      (sum, chunk) => sum + (chunk.kind === 'light' || chunk.kind === 'benign' ? 0 : chunk.to - chunk.from),
      0,
    ),
    loose: looseSide || loosePhase || looseOther || looseNegation,
    chunks,
  };
}
