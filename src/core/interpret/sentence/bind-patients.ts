import type { Entry } from '../../entry.ts';
import { codeInfo } from '../../vocabulary/code-info.ts';
import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { patientAt, type PatientWord } from '../values/patients.ts';
import type { Token } from '../words/normalise.ts';
import type { Call } from './calls.ts';
import type { Chunk } from './segment.ts';

type Owner = 'mother' | 'baby' | 'open' | undefined;

/** Whose an entry is: by its drug, its route, or its code. */
export function ownerOf(entry: Entry, vocabulary: Vocabulary): Owner {
  if (entry.route === 'umbilical') return 'baby';
  const { slots, patient } = codeInfo(vocabulary, entry.code);
  if (entry.drug !== undefined && slots.includes('drug'))
    return vocabulary.drugs.find(({ drug }) => drug === entry.drug)?.patient;
  return patient;
}

/** May a number of a baby stand on it? */
const ofBaby = (entry: Entry, owner: Owner, vocabulary: Vocabulary): boolean =>
  owner !== 'mother' &&
  (owner !== undefined || ['birth', 'baby'].includes(codeInfo(vocabulary, entry.code).group));

/**
 * Puts who was said onto the calls. Who was said holds for the rest of the line until somebody else is named or a
 * code can be one patient's only; a call without one takes the name that follows it directly.
 * @returns `idle`: names that belong to no call; `loose`: a name that contradicts its call.
 */
export function bindPatients(
  chunks: readonly Chunk[],
  calls: ReadonlyMap<Chunk, Call>,
  tokens: readonly Token[],
  vocabulary: Vocabulary,
): { idle: ReadonlySet<Chunk>; loose: boolean } {
  const idle = new Set<Chunk>();
  let current: PatientWord | undefined;
  let loose = false;
  const named = (chunk: Chunk): PatientWord | undefined => {
    if (chunk.kind === 'patient') return chunk.patient;
    const call = calls.get(chunk);
    const open = call?.entries.some((entry) => ownerOf(entry, vocabulary) === 'open') === true;
    for (let at = chunk.from; call && at < chunk.to; at += 1) {
      const word = patientAt(tokens, at);
      if (word && (open || word.baby !== undefined)) return word;
    }
    return undefined;
  };
  const asked = (call: Call): boolean =>
    call.entries.some((entry) => {
      const owner = ownerOf(entry, vocabulary);
      return owner !== undefined || ofBaby(entry, owner, vocabulary);
    });
  const takes = (call: Call, word: PatientWord): boolean =>
    word.baby !== undefined || word.unnamed
      ? asked(call)
      : call.entries.some((entry) => ownerOf(entry, vocabulary) !== undefined);
  chunks.forEach((chunk, index) => {
    const said = named(chunk);
    const call = calls.get(chunk);
    if (said && !call) {
      const before = chunks.slice(0, index).findLast((other) => calls.has(other));
      const after = chunks.slice(index + 1).find((other) => calls.has(other));
      const previous = before && calls.get(before);
      const next = after && calls.get(after);
      const back =
        previous !== undefined &&
        !carries(previous, vocabulary) &&
        takes(previous, said) &&
        joins(chunks, before!, index);
      if (back) loose = !put(previous, said, vocabulary) || loose;
      const explains = back || (previous && takes(previous, said)) || (next && takes(next, said));
      if (explains) current = said;
      else if (!(chunk.kind === 'patient' && chunk.harmless)) idle.add(chunk);
      return;
    }
    if (!call) return;
    if (said) current = said;
    if (current && takes(call, current)) loose = !put(call, current, vocabulary) || loose;
    const owners = new Set(call.entries.map((entry) => ownerOf(entry, vocabulary)));
    const [owner] = owners;
    if (owners.size === 1 && (owner === 'mother' || owner === 'baby') && current?.patient !== owner)
      current = { to: chunk.to, patient: owner };
  });
  return { idle, loose };
}

/** Asks whose it is where nobody said and nothing fixes it. */
export function askPatient(call: Call, vocabulary: Vocabulary): void {
  const open = call.entries.some(
    (entry) => ownerOf(entry, vocabulary) === 'open' && entry.patient === undefined,
  );
  if (open) call.problem ??= 'patient-missing';
}

const carries = (call: Call, vocabulary: Vocabulary): boolean =>
  call.entries.some(
    (entry) =>
      entry.patient !== undefined || entry.baby !== undefined || ownerOf(entry, vocabulary) === 'mother',
  );

/** Is there nothing of its own between a call and the name behind it? */
const joins = (chunks: readonly Chunk[], before: Chunk, index: number): boolean =>
  chunks
    .slice(chunks.indexOf(before) + 1, index)
    .every(({ kind }) => kind !== 'unknown' && kind !== 'patient');

/** @returns false where the name says one patient and the code is the other's. */
function put(call: Call, said: PatientWord, vocabulary: Vocabulary): boolean {
  let fits = true;
  call.entries = call.entries.map((entry) => {
    const owner = ownerOf(entry, vocabulary);
    if ((owner === 'mother' || owner === 'baby') && owner !== said.patient) {
      // A new patient in the same line is no contradiction of what was said before it.
      fits = said.to > call.to ? false : fits;
      return entry;
    }
    if (said.unnamed && owner !== undefined) call.problem ??= 'patient-missing';
    return {
      ...entry,
      ...(owner === 'open' ? { patient: said.patient } : {}),
      ...(said.baby !== undefined && ofBaby(entry, owner, vocabulary) ? { baby: said.baby } : {}),
    };
  });
  return fits;
}
