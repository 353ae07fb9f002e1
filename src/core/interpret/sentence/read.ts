import { problemOfSlot } from '../../slots.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { attitudes } from './attitude.ts';
import { bindPhases } from './bind-phases.ts';
import { bindOthers, bindSides } from './bind-slots.ts';
import { callFrom, callFromMeasured, callFromRole, type Call } from './calls.ts';
import type { Compiled } from './compile.ts';
import { markCutOff } from './cut-off.ts';
import type { SpokenTime } from '../interpretation.ts';
import type { Token } from '../words/normalise.ts';
import { foldBabies } from '../values/patients.ts';
import { askPatient, bindPatients } from './bind-patients.ts';
import { segment, type Chunk } from './segment.ts';

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
function makeCalls(
  chunks: readonly Chunk[],
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): Map<Chunk, Call> {
  const calls = new Map<Chunk, Call>();
  for (const chunk of chunks) {
    if (chunk.kind === 'anchor') calls.set(chunk, callFrom(chunk, tokens, vocabulary));
    else if (chunk.kind === 'role') calls.set(chunk, callFromRole(chunk));
    else if (chunk.kind === 'measured') calls.set(chunk, callFromMeasured(chunk));
  }
  return calls;
}

/** "Oxytocin … running": what another code stands for, without the word that says so. */
function become(call: Call, tokens: readonly Token[], vocabulary: Vocabulary): void {
  call.entries = call.entries.map((entry) => {
    const { becomes } = codeInfo(vocabulary, entry.code);
    const said = tokens.slice(call.from, call.to).some(({ word }) => becomes?.words.includes(word));
    if (!becomes || !said) return entry;
    const { drug, dose = '', amount, unit } = entry;
    const words = dose.split(' ').filter((word) => !becomes.words.includes(word));
    return {
      code: becomes.code,
      phase: becomes.phase,
      ...(drug === undefined ? {} : { drug }),
      ...(words.join('') === '' ? {} : { dose: words.join(' ') }),
      ...(amount === undefined ? {} : { amount }),
      ...(unit === undefined ? {} : { unit }),
    };
  });
}

/** Required slots that nothing filled. */
function missing(call: Call, vocabulary: Vocabulary): void {
  if (call.problem) return;
  for (const entry of call.entries) {
    const info = codeInfo(vocabulary, entry.code);
    const { requiredOne = [] } = info;
    const none = requiredOne.length > 0 && requiredOne.every((slot) => entry[slot] === undefined);
    const gap =
      info.required.find((slot) => entry[slot] === undefined) ?? (none ? requiredOne[0] : undefined);
    if (!gap) continue;
    call.problem = info.asks?.[gap] ?? problemOfSlot(gap);
    if (call.problem === 'side-missing') {
      call.alternatives = (['left', 'right'] as const).map((side) => [{ ...entry, [gap]: side }]);
    }
    return;
  }
}

/** Done with a hand or scissors, "at six o'clock" is a place on the dial of the perineum as well as a time. */
const INSIDE =
  /^(internal-entry|rubin-2|woods-screw|reverse-woods-screw|posterior-arm|posterior-axilla-traction|episiotomy)$/;
const onTheDial = (tokens: readonly Token[], { from, to }: Chunk): boolean =>
  tokens.slice(from, to).some(({ word }) => word === "o'clock");

/** The spoken times; "head out two minutes ago, baby out now" holds two. */
function timesIn(chunks: readonly Chunk[], calls: readonly Call[], tokens: readonly Token[]): Sense['times'] {
  const inside = calls.some(({ entries }) => entries.some(({ code }) => INSIDE.test(code)));
  const times = chunks.flatMap((chunk) =>
    chunk.kind === 'time'
      ? [(!(inside && onTheDial(tokens, chunk)) && chunk.time.time) || ('unclear' as const)]
      : [],
  );
  const now = times.length > 0 && calls.length > 1 && tokens.some(({ word }) => word === 'now');
  return now ? [...times, 'unclear'] : times;
}

/** Reads a token stream: chunks, calls with their slots, times, and what stays unexplained. */
export function read(said: readonly Token[], compiled: Compiled, vocabulary: Vocabulary): Sense {
  const tokens = foldBabies(said);
  const chunks = segment(tokens, compiled, vocabulary);
  const calls = makeCalls(chunks, tokens, vocabulary);
  const loosePhase = bindPhases(chunks, calls, tokens, vocabulary, compiled.noEffect);
  const looseSide = bindSides(chunks, calls, tokens, vocabulary);
  const looseOther = bindOthers(chunks, calls, tokens, vocabulary);
  const { voidFrom, looseNegation } = attitudes(chunks, calls, tokens, vocabulary);
  const timeLost = markCutOff(tokens, chunks, [...calls.values()], vocabulary);
  const { idle, loose: loosePatient } = bindPatients(chunks, calls, tokens, vocabulary);
  for (const call of calls.values()) {
    become(call, tokens, vocabulary);
    missing(call, vocabulary);
    askPatient(call, vocabulary);
  }
  const last = [...calls.values()].findLast((call) => !call.voided);
  // "Baby's breathing is": what it is was not heard.
  if (last && tokens[tokens.length - 1]?.word === 'is') last.problem ??= 'value-missing';
  const live = (chunk: Chunk): boolean => !voidFrom.has(chunk);
  const unknown = (chunk: Chunk): boolean => (chunk.kind === 'unknown' || idle.has(chunk)) && live(chunk);
  return {
    calls: [...calls.values()].filter((call) => !call.voided).sort((a, b) => a.from - b.from),
    times: [
      ...timesIn(chunks.filter(live), [...calls.values()], tokens),
      ...(timeLost ? (['unclear'] as const) : []),
    ],
    unexplained: chunks.flatMap((chunk) => (unknown(chunk) ? [chunk.from] : [])),
    unknown: chunks.filter(unknown).length,
    content: chunks.reduce(
      (sum, chunk) => sum + (chunk.kind === 'light' || chunk.kind === 'benign' ? 0 : chunk.to - chunk.from),
      0,
    ),
    loose: looseSide || loosePhase || looseOther || looseNegation || loosePatient,
    chunks,
  };
}
