import { WORDS } from '../../vocabulary/words.ts';
import type { Token } from '../words/normalise.ts';
import { numberRun } from '../values/numbers.ts';
import { soundCost, soundOf } from '../words/sound.ts';
import exclusive from './exclusive.json';
import thresholds from './thresholds.json';

/**
 * Words on which the meaning turns: both readings of a sound must hold them before anything is accepted.
 * Each word stands for its class, so that "started" in one reading and "starting" in the other agree.
 */
const CLASSES: Record<string, string> = {
  left: 'left',
  right: 'right',
  arterial: 'arterial',
  artery: 'arterial',
  venous: 'venous',
  vein: 'venous',
  anterior: 'anterior',
  posterior: 'posterior',
  axial: 'axial',
  axilla: 'axilla',
  axillary: 'axilla',
  clockwise: 'clockwise',
  anticlockwise: 'anticlockwise',
  reverse: 'reverse',
  reversed: 'reverse',
  minus: 'minus',
  negative: 'minus',
  plus: 'plus',
  positive: 'plus',
  baseexcess: 'excess',
  basedeficit: 'deficit',
  baby: 'baby',
  arm: 'arm',
  arms: 'arm',
  head: 'head',
  hand: 'hand',
  hands: 'hand',
  body: 'body',
  shoulder: 'shoulder',
  shoulders: 'shoulders',
  both: 'both',
  in: 'in',
  out: 'out',
  on: 'on',
  off: 'off',
  up: 'up',
  down: 'down',
  back: 'back',
  start: 'start',
  starting: 'start',
  started: 'start',
  begin: 'start',
  stop: 'stop',
  stopping: 'stop',
  stopped: 'stop',
  failed: 'failed',
  worked: 'worked',
  successful: 'worked',
  unsuccessful: 'failed',
  push: 'push',
  pushing: 'push',
  behind: 'behind',
  front: 'front',
  suprapubic: 'suprapubic',
  fundal: 'fundal',
  called: 'called',
  call: 'called',
  arrived: 'here',
  here: 'here',
  seconds: 'seconds',
  minute: 'minutes',
  minutes: 'minutes',
  hour: 'hours',
  hours: 'hours',
  ago: 'ago',
  litre: 'litre',
  ml: 'ml',
  kg: 'kg',
  lb: 'lb',
  grams: 'grams',
  kpa: 'kpa',
  mmhg: 'mmhg',
  floppy: 'floppy',
  intact: 'intact',
  cord: 'cord',
};
/** Trade words that the untouched decoder spells as it can: near in sound is enough. */
const SPELT_LOOSELY = new Set([
  'anterior',
  'posterior',
  'arterial',
  'venous',
  'clockwise',
  'anticlockwise',
  'reverse',
  'suprapubic',
  'fundal',
  'excess',
  'deficit',
  'shoulder',
  'shoulders',
  'intact',
  'floppy',
  'kpa',
  'mmhg',
  'ml',
  'cord',
]);
const OPPOSITE: Record<string, string> = {
  anterior: 'posterior',
  posterior: 'anterior',
  arterial: 'venous',
  venous: 'arterial',
  clockwise: 'anticlockwise',
  anticlockwise: 'clockwise',
  suprapubic: 'fundal',
  fundal: 'suprapubic',
  excess: 'deficit',
  deficit: 'excess',
};
const SPOKEN: Record<string, string> = {
  excess: 'baseexcess',
  deficit: 'basedeficit',
  kpa: 'kilopascals',
  mmhg: 'millimetresofmercury',
  ml: 'mils',
};
/** Extra words that would turn the meaning if only one reading holds them. */
const TURNING = new Set([
  'left',
  'right',
  'minus',
  'plus',
  'arterial',
  'venous',
  'anterior',
  'posterior',
  'reverse',
  'stop',
  'off',
  'anticlockwise',
  'clockwise',
  'deficit',
  'excess',
  'failed',
  'fundal',
  'start',
  'ago',
]);
const HOMOPHONES: Record<string, string> = {
  to: '2',
  too: '2',
  for: '4',
  won: '1',
  ate: '8',
  sex: '6',
  tree: '3',
  free: '3',
  fore: '4',
  nine: '9',
  wan: '1',
};

export interface Features {
  classes: Map<string, number>;
  digits: string;
  /** The numbers part by part, where all are written as words: "3 5" for "three five", "35" for "thirty five". */
  inWords?: string;
  negations: number;
  tokens: readonly Token[];
}

/** The critical words of a reading. Without the attention "right" that opens an utterance. */
export function featuresOf(tokens: readonly Token[], homophonesAsNumbers = false): Features {
  const classes = new Map<string, number>();
  const parts: string[] = [];
  let figures = false;
  let negations = 0;
  for (let at = 0; at < tokens.length; at += 1) {
    const run = numberRun(tokens, at);
    if (run) {
      for (const part of run.parts) {
        if (part.kind === 'int') parts.push(part.digits.replace(/^0+(?=\d\d)/, ''));
        else if (part.kind === 'half') parts.push(part.value === 0.5 ? '5' : '25');
      }
      figures ||= tokens.slice(run.from, run.to).some(({ word }) => /^\d/.test(word));
      at = run.to - 1;
      continue;
    }
    const { word } = tokens[at]!;
    if (homophonesAsNumbers && word in HOMOPHONES) parts.push(HOMOPHONES[word]!);
    if (WORDS.negation.has(word)) negations += 1;
    const attention = word === 'right' && at === 0;
    const kind = CLASSES[word];
    if (kind && !attention) classes.set(kind, (classes.get(kind) ?? 0) + 1);
  }
  return {
    classes,
    digits: parts.join(''),
    ...(figures ? {} : { inWords: parts.join(' ') }),
    negations,
    tokens,
  };
}

/** Is a loosely spelt word heard somewhere among the other reading's words? */
function soundsAmong(kind: string, tokens: readonly Token[]): boolean {
  const wanted = soundOf(SPOKEN[kind] ?? kind);
  const opposite = OPPOSITE[kind];
  for (let from = 0; from < tokens.length; from += 1) {
    for (let length = 1; length <= 3 && from + length <= tokens.length; length += 1) {
      const sound = soundOf(
        tokens
          .slice(from, from + length)
          .map((token) => token.word)
          .join(''),
      );
      const cost = soundCost(sound, wanted, thresholds.agreementCost);
      if (
        cost <= thresholds.agreementCost &&
        (!opposite || soundCost(sound, soundOf(SPOKEN[opposite] ?? opposite)) > cost + 0.05)
      )
        return true;
    }
  }
  return false;
}

/** Does the other reading hold another number just as long: "3,690" beside "3,619"? Led to it or not, it says so. */
export function numbersDiffer(tuned: readonly Token[], untouched: readonly Token[]): boolean {
  const [own, other] = [featuresOf(tuned).digits, featuresOf(untouched).digits];
  return own.length === other.length && own !== other;
}

/** Does the other reading hold numbers that are not these: "3 minutes ago" beside "thirty three minutes ago"? */
export function otherNumbers(tuned: readonly Token[], untouched: readonly Token[]): boolean {
  const [own, other] = [featuresOf(tuned).digits, featuresOf(untouched).digits];
  return other !== '' && own !== other;
}

/** Is any number in it, whichever? */
export const holdsNumber = (tokens: readonly Token[]): boolean => featuresOf(tokens).digits !== '';

/** Do both readings hold the same numbers, and as many negations? */
export function sameNumbers(tuned: readonly Token[], untouched: readonly Token[]): boolean {
  const mine = featuresOf(tuned);
  const theirs = featuresOf(untouched);
  if (mine.negations !== theirs.negations) return false;
  return sameDigits(mine, theirs) || sameDigits(mine, featuresOf(untouched, true));
}

/** Figures leave open how a number was said; where both are words, "three five" is not "thirty five". */
const sameDigits = (one: Features, other: Features): boolean =>
  one.digits === other.digits &&
  (one.inWords === undefined || other.inWords === undefined || one.inWords === other.inWords);

const EXCLUSIVE = exclusive.sets.map((set): ReadonlySet<string> => new Set(set));

/** Does the other reading hold a word that stands against one of this: milligrams and micrograms, taken and sent? */
export function excludes(tuned: readonly Token[], untouched: readonly Token[]): boolean {
  const times = (tokens: readonly Token[], word: string): number =>
    tokens.filter((token) => token.word === word).length;
  return untouched.some(
    ({ word }) => EXCLUSIVE.some((set) => set.has(word)) && times(untouched, word) > times(tuned, word),
  );
}

/** Do both readings hold the same critical words? Only words that the tuned reading uses, and words that would turn it. */
export function criticalAgree(tuned: readonly Token[], untouched: readonly Token[]): boolean {
  if (!sameNumbers(tuned, untouched)) return false;
  const mine = featuresOf(tuned);
  const theirs = featuresOf(untouched);
  for (const [kind, count] of mine.classes) {
    if ((theirs.classes.get(kind) ?? 0) >= count) continue;
    if (SPELT_LOOSELY.has(kind) && soundsAmong(kind, untouched)) continue;
    return false;
  }
  for (const [kind, count] of theirs.classes) {
    if (TURNING.has(kind) && count > (mine.classes.get(kind) ?? 0)) return false;
  }
  return true;
}

/** Does the tuned reading hold any critical word at all? */
export function hasCritical(tokens: readonly Token[]): boolean {
  const { classes, digits, negations } = featuresOf(tokens);
  return classes.size > 0 || digits !== '' || negations > 0;
}

/** How far apart two whole readings sound: 0 the same, 1 nothing in common. */
export function readingDistance(one: readonly Token[], other: readonly Token[]): number {
  const sound = (tokens: readonly Token[]): string => soundOf(tokens.map((token) => token.word).join(''));
  return soundCost(sound(one), sound(other));
}
