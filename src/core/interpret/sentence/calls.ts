import type { Entry, Phase } from '../../entry.ts';
import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import type { Problem } from '../interpretation.ts';
import { wordsOf } from '../values/numbers.ts';
import { withNumbers } from '../values/slot-numbers.ts';
import type { Token } from '../words/normalise.ts';
import type { Chunk } from './segment.ts';

/** One call-out within an utterance, while its slots are being filled. */
export interface Call {
  from: number;
  to: number;
  entries: Entry[];
  problem?: Problem;
  alternatives?: Entry[][];
  /** Words of more than one meaning, until others say which of them holds. */
  ambiguous?: true;
  /** False for words that also stand in ordinary talk. */
  strong: boolean;
  /** Set when something around it makes it a question to the team, a plan or a report: nothing is logged. */
  voided?: true;
  /** A plan or a doubt: at most asked. */
  doubtful?: true;
}

export const single = (call: Call): Entry | undefined =>
  call.entries.length === 1 ? call.entries[0] : undefined;

/** A call from an anchor: one entry for a phrase, one for each role, or the readings of an ambiguous phrase. */
export function callFrom(
  chunk: Chunk & { kind: 'anchor' },
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): Call {
  const { meaning, roles, numbers, from, to } = chunk;
  const base = { from, to, strong: meaning.strong };
  if (meaning.kind === 'ambiguous') {
    const words = wordsOf(tokens, from, to);
    const asSpoken = (entry: Entry): Entry =>
      entry.text === '{words}' ? { ...entry, text: words } : { ...entry };
    return {
      ...base,
      ambiguous: true,
      entries: meaning.item.entries.map(asSpoken),
      problem: meaning.item.problem,
      alternatives: meaning.item.alternatives.map(({ entries }) => entries.map(asSpoken)),
    };
  }
  const { code, set, also } = meaning;
  if (numbers.length > 0) return { ...base, ...withNumbers({ code, ...set }, numbers, tokens, vocabulary) };
  if (roles.length === 0 || code === 'baby-to-neonatal-team')
    return { ...base, entries: [{ code, ...set }, ...also.map((other) => ({ code: other }))] };
  return { ...base, strong: true, entries: roles.map((role) => ({ code, ...set, role })) };
}

/** A role named alone: called, or come? */
export function callFromRole(chunk: Chunk & { kind: 'role' }): Call {
  const as = (code: string): Entry[] => chunk.roles.map((role) => ({ code, role }));
  return {
    from: chunk.from,
    to: chunk.to,
    strong: false,
    entries: as('role-called'),
    problem: 'unclear',
    alternatives: [as('role-arrived')],
  };
}

export function callFromMeasured(chunk: Chunk & { kind: 'measured' }): Call {
  const { entries, problem, alternatives } = chunk.measured;
  return {
    from: chunk.from,
    to: chunk.to,
    // A dose without a drug is as much of something else that was measured.
    strong: problem !== 'drug-missing',
    entries: structuredClone(entries),
    ...(problem ? { problem } : {}),
    ...(alternatives ? { alternatives: structuredClone(alternatives) } : {}),
  };
}

/** May this phase be said of this call? "done" of something that has no phases says nothing more. */
export function takesPhase(
  call: Call,
  phase: Phase,
  vocabulary: Vocabulary,
): 'takes' | 'says-nothing' | 'no' {
  const entry = single(call);
  if (!entry) return 'no';
  const phases = vocabulary.codes.get(entry.code)?.phases ?? [];
  if (phases.includes(phase)) return 'takes';
  if (phase === 'start' || phase === 'done' || phase === 'succeeded') return 'says-nothing';
  return 'no';
}

export function setPhase(call: Call, phase: Phase, vocabulary: Vocabulary): void {
  const entry = single(call);
  if (!entry) return;
  const fit = takesPhase(call, phase, vocabulary);
  if (fit === 'no') {
    call.problem ??= 'unclear';
    return;
  }
  if (fit === 'says-nothing') return;
  if (entry.phase && entry.phase !== phase) {
    // "going for the posterior arm … delivered": the later word is how it went, "started and stopped" is unclear.
    if (entry.phase === 'start' && phase !== 'stop') entry.phase = phase;
    else call.problem ??= 'unclear';
    return;
  }
  entry.phase = phase;
}
