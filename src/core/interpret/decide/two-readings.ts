import type { Entry } from '../../entry.ts';
import { WORDS } from '../../vocabulary/words.ts';
import {
  criticalAgree,
  excludes,
  hasCritical,
  holdsNumber,
  numbersDiffer,
  otherNumbers,
  readingDistance,
} from './critical.ts';
import type { Alternative, Heard, Interpreted } from '../interpretation.ts';
import { cutLoops } from '../words/loops.ts';
import { nearestIsTuned } from '../words/nearest.ts';
import { NOTE_CODE } from '../note-code.ts';
import { normalise, type Token } from '../words/normalise.ts';
import { nearWordings } from './stands-up.ts';
import thresholds from './thresholds.json';

/** What one reading means alone; given by the caller so that this file only weighs. */
export type ReadAlone = (text: string) => Interpreted;

export const meanOf = (values: readonly number[] | undefined): number | undefined =>
  values && values.length > 0 ? values.reduce((sum, value) => sum + value, 0) / values.length : undefined;

/** Are there more words than anybody says in that time? */
function tooLong(tokens: readonly Token[], speechMs: number | undefined): boolean {
  return (
    speechMs !== undefined &&
    tokens.length > thresholds.shortestUtteranceWords + (speechMs / 1000) * thresholds.longestWordsPerSecond
  );
}

export const sameEntries = (one: readonly Entry[], other: readonly Entry[]): boolean =>
  JSON.stringify(one) === JSON.stringify(other);

function sameRest(one: Interpreted, other: Interpreted): boolean {
  const command = (meaning: Interpreted) =>
    JSON.stringify('command' in meaning ? meaning.command : undefined);
  return JSON.stringify(one.when) === JSON.stringify(other.when) && command(one) === command(other);
}

/** Do they log the same, with the same time or command, sure or not? */
export const saysSame = (one: Interpreted, other: Interpreted): boolean =>
  sameEntries(one.entries, other.entries) && sameRest(one, other);

const sameMeaning = (one: Interpreted, other: Interpreted): boolean =>
  one.outcome === other.outcome && saysSame(one, other);

export function asQuestion(
  meaning: Interpreted,
  other: Interpreted | undefined,
  confidence: number,
  near: readonly Interpreted[] = [],
): Interpreted {
  const rivals: Alternative[] = [...near, ...(other ? [other] : [])]
    .filter(
      (one) =>
        (one.outcome === 'accept' || one.outcome === 'ask') && !sameEntries(one.entries, meaning.entries),
    )
    .map(({ entries }) => ({ entries }));
  const own = meaning.outcome === 'ask' ? (meaning.alternatives ?? []) : [];
  const alternatives = [...rivals, ...own].filter(
    (choice, index, all) => all.findIndex((one) => sameEntries(one.entries, choice.entries)) === index,
  );
  const timeDiffers = other !== undefined && JSON.stringify(other.when) !== JSON.stringify(meaning.when);
  const problem =
    meaning.outcome === 'ask'
      ? meaning.problem
      : timeDiffers && sameEntries(other.entries, meaning.entries)
        ? 'time-unclear'
        : 'unclear';
  return {
    outcome: 'ask',
    entries: meaning.entries,
    ...(alternatives.length > 0 ? { alternatives } : {}),
    problem,
    ...(meaning.when && problem !== 'time-unclear' ? { when: meaning.when } : {}),
    ...(meaning.outcome === 'ask' && meaning.command ? { command: meaning.command } : {}),
    confidence,
  };
}

/** What the sound could have meant besides, by the doubts about the tuned words. */
function rivalMeanings(
  heard: Heard,
  tuned: Interpreted,
  alone: ReadAlone,
): { meaning: Interpreted; strong: boolean }[] {
  if (tuned.outcome === 'unrecognised') return [];
  return (
    nearWordings(heard.tuned.text, heard.doubts ?? [])
      .map(({ text, ...near }) => ({ ...near, meaning: alone(text) }))
      .filter(({ meaning, kind }) => kind !== 'instead' || meaning.outcome !== 'unrecognised')
      // "Posterior axial traction" leaves a word over: nobody says it, so it is no rival of "posterior axilla traction".
      .filter(({ meaning, lookAlike }) => !lookAlike || meaning.outcome === 'accept')
      .filter(({ meaning }) => !saysSame(meaning, tuned))
  );
}

/** Commands that change nothing may be taken from one reading that the other does not contradict. */
const HARMLESS = new Set([
  'mark',
  'read-back',
  'elapsed',
  'clock',
  'begin',
  'resume',
  'next-question',
  'baby-clock',
]);

/**
 * Weighs two readings of one sound, the decoder's own certainty, and the length of the speech.
 * Trade words come from the tuned reading. Whatever a meaning turns on (numbers, sides, times, opposites,
 * negations, look-alikes) is accepted only where the untouched reading holds it too.
 */
export function weigh(heard: Heard, alone: ReadAlone): Interpreted {
  const tunedCut = cutLoops(heard.tuned.text);
  const tuned = alone(tunedCut.text);
  const tunedTokens = normalise(tunedCut.text, WORDS);
  const mean = meanOf(heard.tuned.logProbabilities);
  const certainty = mean === undefined ? 1 : Math.exp(Math.max(mean, -3));
  const unsure = mean !== undefined && mean < thresholds.meanLogProbabilityAsk;
  const lost =
    (mean !== undefined && mean < thresholds.meanLogProbabilityReject) ||
    tooLong(normalise(heard.tuned.text, WORDS), heard.speechMs);
  const nothing: Interpreted = { outcome: 'unrecognised', entries: [], confidence: 0 };
  if (lost)
    return tuned.outcome === 'accept' || tuned.outcome === 'ask'
      ? heard.untouched
        ? asQuestionIfBoth(tuned, heard, alone, nothing)
        : nothing
      : nothing;
  const scaled = (meaning: Interpreted, factor: number): Interpreted => ({
    ...meaning,
    confidence: round(meaning.confidence * factor * (0.5 + certainty / 2)),
  });
  if (!heard.untouched) {
    if (tuned.outcome === 'accept' && (unsure || tunedCut.looped))
      return scaled(asQuestion(tuned, undefined, 0.5), 1);
    if (tuned.outcome === 'command' && unsure) return nothing;
    return scaled(tuned, 1);
  }
  const otherCut = cutLoops(heard.untouched.text);
  const otherTokens = normalise(otherCut.text, WORDS);
  const garbage =
    otherTokens.length === 0 || (otherCut.looped && otherTokens.length > 2 * tunedTokens.length + 4);
  const other = garbage ? nothing : alone(otherCut.text);
  if (sameMeaning(tuned, other)) {
    const doubtful = tuned.outcome === 'accept' && tunedCut.looped;
    return doubtful ? asQuestion(tuned, undefined, 0.5) : scaled(tuned, 1);
  }
  if (tuned.outcome === 'unrecognised') {
    // Lost on the tuned reading, plain on the other: worth a question, never an entry.
    return other.outcome === 'accept' && !garbage ? scaled(asQuestion(other, undefined, 0.4), 1) : nothing;
  }
  const distance = garbage ? 1 : readingDistance(tunedTokens, otherTokens);
  const near = rivalMeanings(heard, tuned, alone);
  const upheld = heard.doubts !== undefined && near.length === 0;
  const agree = (): boolean =>
    !excludes(tunedTokens, otherTokens) &&
    ((upheld && !numbersDiffer(tunedTokens, otherTokens)) ||
      (criticalAgree(tunedTokens, otherTokens) && !near.some(({ strong }) => strong)) ||
      (heard.doubts === undefined &&
        nearestIsTuned(tunedTokens, otherTokens, (text) => {
          const rival = alone(text);
          return rival.outcome !== 'unrecognised' && !saysSame(rival, tuned);
        })));
  // Led along, a decoder weighs one number against its like; that there was one at all it must write by itself.
  const inventedValue = tuned.entries.some(holdsValue) && !holdsNumber(otherTokens);
  // A time that was never said puts an entry where it does not belong.
  const otherTime = tuned.when !== undefined && otherNumbers(tunedTokens, otherTokens);
  // "No, those have never come back" is no note.
  const inventedNote = tuned.entries.some(isNote) && !other.entries.some(isNote);
  const farthest = upheld ? thresholds.standsUpDistance : thresholds.farDistance;
  if (tuned.outcome === 'command') return command(tuned, other, distance, unsure, agree, scaled, nothing);
  if (tuned.outcome === 'ask') {
    if (!garbage && distance > thresholds.unrelatedDistance) return nothing;
    return scaled(asQuestion(tuned, other, tuned.confidence), 0.9);
  }
  if (garbage)
    return (!upheld && hasCritical(tunedTokens)) || inventedValue || unsure || tunedCut.looped
      ? scaled(asQuestion(tuned, undefined, 0.5), 0.9)
      : scaled(tuned, 0.8);
  const contradicted =
    other.outcome === 'command' ||
    (other.outcome === 'accept' &&
      !sameEntries(other.entries, tuned.entries) &&
      !partOf(
        other.entries,
        upheld ? [...tuned.entries, ...tuned.entries.map(withoutPhase)] : tuned.entries,
      ));
  const agreed = agree();
  if (distance > thresholds.unrelatedDistance && other.outcome === 'unrecognised' && !agreed)
    return scaled(asQuestion(tuned, undefined, 0.3), 0.8);
  if (
    contradicted ||
    inventedValue ||
    otherTime ||
    inventedNote ||
    unsure ||
    tunedCut.looped ||
    !agreed ||
    distance > farthest
  )
    return scaled(
      asQuestion(
        tuned,
        other,
        0.5,
        near.map(({ meaning }) => meaning),
      ),
      0.9,
    );
  return scaled(tuned, 1 - distance / 2);
}

const isNote = (entry: Entry): boolean => entry.code === NOTE_CODE;

const holdsValue = (entry: Entry): boolean => Object.values(entry).some((value) => typeof value === 'number');

/** The other reading holds fewer of the same entries: it lost a trade word, it does not contradict. */
const partOf = (fewer: readonly Entry[], all: readonly Entry[]): boolean =>
  fewer.every((entry) => all.some((own) => JSON.stringify(own) === JSON.stringify(entry)));

/** "McRoberts on" that the other reading wrote as one word, without its "on". */
const withoutPhase = ({ phase: _phase, ...entry }: Entry): Entry => entry;

function asQuestionIfBoth(
  tuned: Interpreted,
  heard: Heard,
  alone: ReadAlone,
  nothing: Interpreted,
): Interpreted {
  const other = alone(cutLoops(heard.untouched!.text).text);
  return sameMeaning(tuned, other) ? asQuestion(tuned, undefined, 0.3) : nothing;
}

function command(
  tuned: Interpreted,
  other: Interpreted,
  distance: number,
  unsure: boolean,
  agree: () => boolean,
  scaled: (meaning: Interpreted, factor: number) => Interpreted,
  nothing: Interpreted,
): Interpreted {
  if (tuned.outcome !== 'command' || unsure) return nothing;
  const close = distance <= thresholds.commandDistance;
  // A correction says what replaces the last entry: its words must be sure like any entry's.
  if (tuned.entries.length > 0) {
    if (close && agree()) return scaled(tuned, 1 - distance / 2);
    return asQuestion(
      { ...tuned, outcome: 'ask', problem: 'unclear' } as Interpreted,
      other.outcome === 'command' ? undefined : other,
      0.5,
    );
  }
  if (other.outcome === 'command') return nothing;
  const limit = HARMLESS.has(tuned.command.code) ? thresholds.farDistance : thresholds.commandDistance;
  return distance <= limit || close ? scaled(tuned, 1 - distance / 2) : nothing;
}

const round = (value: number): number => Math.round(value * 1000) / 1000;
