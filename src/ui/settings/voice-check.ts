import type { Entry } from '../../core/entry.ts';
import type { Interpretation } from '../../core/interpret/interpretation.ts';
import data from './voice-check.json';

export interface CheckPhrase {
  say: string;
  entries: Entry[];
}
/** `wrong`: something else would have been logged, which counts more than any miss. */
export type Outcome = 'heard' | 'asked' | 'wrong' | 'missed';

export interface CheckResult {
  say: string;
  outcome: Outcome;
  /** The words as they were heard, by both readings; empty where nothing was heard. */
  heard: string;
  heardSecond: string;
  speechToNoiseDb: number | null;
}

export const PHRASES = data.phrases as CheckPhrase[];

/** What came of a phrase that was to be said. The words as spoken need not agree, only what would be logged. */
export function judge(wanted: readonly Entry[], understood: Interpretation): Outcome {
  if (understood.outcome === 'ask') return 'asked';
  if (understood.outcome !== 'accept') return understood.outcome === 'command' ? 'wrong' : 'missed';
  return same(wanted, understood.entries) ? 'heard' : 'wrong';
}

function same(wanted: readonly Entry[], got: readonly Entry[]): boolean {
  const plain = ({ spoken: _spoken, ...entry }: Entry) => JSON.stringify(Object.entries(entry).sort());
  return wanted.length === got.length && wanted.every((entry, at) => plain(entry) === plain(got[at]!));
}

/** rely: hands-free use can be relied on here; helper: with someone at the touch pad; touch: log by touch. */
export type Verdict = 'rely' | 'helper' | 'touch';

/** Plain statement from all results; limits in voice-check.json. */
export function verdictOf(results: readonly CheckResult[]): Verdict {
  const count = (...outcomes: Outcome[]) =>
    results.filter(({ outcome }) => outcomes.includes(outcome)).length;
  const { heardToRely, heardOrAskedWithHelper, speechToNoiseDbToRely } = data.limits;
  if (results.length === 0 || count('wrong') > 1) return 'touch';
  const ratioDb = medianOf(results.flatMap(({ speechToNoiseDb }) => speechToNoiseDb ?? []));
  const noisy = ratioDb !== null && ratioDb < speechToNoiseDbToRely;
  if (!noisy && count('wrong') === 0 && count('heard') / results.length >= heardToRely) return 'rely';
  return count('heard', 'asked') / results.length >= heardOrAskedWithHelper ? 'helper' : 'touch';
}

export function medianOf(values: readonly number[]): number | null {
  const sorted = values.toSorted((a, b) => a - b);
  if (sorted.length === 0) return null;
  const middle = Math.floor(sorted.length / 2);
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

/** Whether a wording of one's own can be given: it names a code, so nothing but a phase may be wanted with it. */
export const canBeReworded = ({ entries }: CheckPhrase): boolean =>
  entries.length === 1 && Object.keys(entries[0]!).every((slot) => slot === 'code' || slot === 'phase');

/** The results as a file, without sound. */
export function resultsFile(
  results: readonly CheckResult[],
  room: { noiseFloorDb: number | null; microphone: string },
  madeAt: string,
): string {
  const speechToNoiseDb = medianOf(results.flatMap((result) => result.speechToNoiseDb ?? []));
  const head = { format: 'utterlog-voice-check', version: 1, madeAt, ...room, speechToNoiseDb };
  return JSON.stringify({ ...head, verdict: verdictOf(results), results }, null, 2);
}
