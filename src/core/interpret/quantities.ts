import type { Entry } from '../entry.ts';
import type { Ranges } from '../vocabulary/vocabulary.ts';
import type { Measured } from './measured.ts';
import type { Token } from './normalise.ts';
import { numberRun, quantity, wholeNumbers, wordsOf, type NumberRun } from './numbers.ts';

/** International avoirdupois pound and ounce: 453.59237 g and 28.349523125 g, exact by definition. */
const GRAMS_PER_POUND = 453.59237;
const GRAMS_PER_OUNCE = 28.349523125;

const LINKS = new Set([
  'is',
  'was',
  'of',
  'the',
  'a',
  'at',
  "'s",
  'about',
  'baby',
  'now',
  'it',
  'estimated',
  'measured',
  'total',
  'so',
  'far',
  'currently',
  'approximately',
  'around',
  'roughly',
  'and',
  'we',
  'have',
  'to',
  'then',
  'that',
  "that's",
  'in',
  'birth',
  'weight',
  'comes',
  'came',
  'weighs',
  'weighing',
  'weighed',
  'for',
  'has',
  'been',
  'i',
  'make',
  'with',
  'at',
  'loss',
  'up',
  'point',
]);

function skipLinks(tokens: readonly Token[], at: number): number {
  let to = at;
  while (
    to < tokens.length &&
    LINKS.has(tokens[to]!.word) &&
    !numberRun(tokens, to) &&
    !isHalfOrWholeUnit(tokens, to)
  )
    to += 1;
  return to;
}

const isHalfOrWholeUnit = (tokens: readonly Token[], at: number): boolean =>
  tokens[at]?.word === 'a' && /^(litre|kg|half|hundred|thousand)$/.test(tokens[at + 1]?.word ?? '');

/** Digits said in a row or year-style, as one whole number: "three eight five oh", "thirty eight fifty". */
function runTogether(run: NumberRun): number | undefined {
  const whole = wholeNumbers(run);
  if (!whole || whole.length < 2) return undefined;
  const digits = run.parts.map((part) => (part as { digits: string }).digits).join('');
  return digits.length === 4 ? Number(digits) : undefined;
}

interface Weight {
  to: number;
  grams?: number;
  problem?: 'unclear' | 'unit-missing' | 'out-of-range';
  converted?: true;
  /** A unit was said. */
  unit: boolean;
}

function kilos(tokens: readonly Token[], run: NumberRun): Weight {
  const unitAt = run.to;
  const whole = quantity(run);
  let to = unitAt + 1;
  if (whole === undefined) {
    // "three eight five kilos" and the like: where the point stands is not said.
    return { to, problem: 'unclear', unit: true };
  }
  if (tokens[to]?.word === 'and' && tokens[to + 1]?.word === 'a' && tokens[to + 2]?.word === 'half') {
    return { to: to + 3, grams: whole * 1000 + 500, unit: true };
  }
  const joint = tokens[to]?.word === 'and' ? to + 1 : to;
  const point = tokens[joint]?.word === 'point';
  const rest = point ? undefined : numberRun(tokens, joint);
  const more = rest && quantity(rest);
  if (point) return { to: to + 1, problem: 'unclear', unit: true };
  if (!rest || !Number.isInteger(whole)) return { to, grams: whole * 1000, unit: true };
  const saysGrams = tokens[rest.to]?.word === 'grams';
  if (/^(minutes|seconds|ml|litre|units)$/.test(tokens[rest.to]?.word ?? ''))
    return { to, grams: whole * 1000, unit: true };
  to = rest.to + (saysGrams ? 1 : 0);
  const sure = more !== undefined && Number.isInteger(more) && more < 1000 && (saysGrams || more >= 100);
  return sure ? { to, grams: whole * 1000 + more, unit: true } : { to, problem: 'unclear', unit: true };
}

function pounds(tokens: readonly Token[], run: NumberRun): Weight {
  let to = run.to + 1;
  let lb = quantity(run);
  if (lb === undefined) return { to, problem: 'unclear', unit: true };
  if (tokens[to]?.word === 'and' && tokens[to + 1]?.word === 'a' && tokens[to + 2]?.word === 'half') {
    return { to: to + 3, grams: Math.round((lb + 0.5) * GRAMS_PER_POUND), converted: true, unit: true };
  }
  const joint = tokens[to]?.word === 'and' ? to + 1 : to;
  const rest = numberRun(tokens, joint);
  let oz = 0;
  if (rest) {
    const value = quantity(rest);
    to = rest.to + (tokens[rest.to]?.word === 'oz' ? 1 : 0);
    if (value === undefined) return { to, problem: 'unclear', unit: true };
    if (value >= 16 || !Number.isInteger(lb)) return { to, problem: 'out-of-range', unit: true };
    oz = value;
  }
  lb = lb * GRAMS_PER_POUND + oz * GRAMS_PER_OUNCE;
  return { to, grams: Math.round(lb), converted: true, unit: true };
}

function weightValue(tokens: readonly Token[], at: number): Weight | undefined {
  const run = numberRun(tokens, at);
  if (!run) return undefined;
  const unit = tokens[run.to]?.word;
  if (unit === 'kg') return kilos(tokens, run);
  if (unit === 'lb') return pounds(tokens, run);
  const value = quantity(run) ?? runTogether(run);
  if (unit === 'grams' || unit === 'g') {
    return value === undefined
      ? { to: run.to + 1, problem: 'unclear', unit: true }
      : { to: run.to + 1, grams: value, unit: true };
  }
  if (value === undefined) return { to: run.to, problem: 'unclear', unit: false };
  // With no unit a three- or four-digit number can only be grams; "four point two" may be kilos or pounds.
  return value >= 100
    ? { to: run.to, grams: value, unit: false }
    : { to: run.to, problem: 'unit-missing', unit: false };
}

/** A weight is weighed; a guess of one is no birth weight. */
const APPROXIMATE = /^(about|approximately|around|roughly|estimated)$/;
/** "up to eight hundred" names a bound and no loss. */
const UPPER_BOUND = /^up$/;

const saysAny = (tokens: readonly Token[], from: number, to: number, words: RegExp): boolean =>
  tokens.slice(from, to).some(({ word }) => words.test(word));

const WEIGHT_LEAD = /^(weight|weighs|weighing|weighed|birthweight)$/;

/** A birth weight with its lead word, or kilos, pounds or grams alone. */
export function weightAt(tokens: readonly Token[], at: number, ranges: Ranges): Measured | undefined {
  let from = at;
  if (
    tokens[from]!.word === 'baby' &&
    /^(weighs|weighing|weighed|weight|'s)$/.test(tokens[from + 1]?.word ?? '')
  )
    from += 1;
  if (tokens[from]!.word === "'s" && tokens[from + 1]?.word === 'weight') from += 1;
  if (tokens[from]!.word === 'birth' && tokens[from + 1]?.word === 'weight') from += 1;
  const led = WEIGHT_LEAD.test(tokens[from]!.word);
  const valueAt = led ? skipLinks(tokens, from + 1) : at;
  const weight = weightValue(tokens, valueAt);
  if (!weight)
    return led && tokens[from]!.word !== 'weighing'
      ? { from: at, to: from + 1, entries: [{ code: 'birth-weight' }], problem: 'value-missing' }
      : undefined;
  if (!led && !weight.unit) return undefined;
  const spoken = wordsOf(tokens, valueAt, weight.to);
  if (!weight.problem && saysAny(tokens, from, valueAt, APPROXIMATE)) weight.problem = 'unclear';
  const entry: Entry = { code: 'birth-weight' };
  const span = { from: at, to: weight.to };
  if (weight.problem) return { ...span, entries: [{ ...entry, spoken }], problem: weight.problem };
  const grams = Math.round(weight.grams!);
  const [low, high] = ranges.grams;
  if (grams < low || grams > high)
    return led ? { ...span, entries: [{ ...entry, spoken }], problem: 'out-of-range' } : undefined;
  const named: Entry = weight.converted ? { ...entry, grams, spoken } : { ...entry, grams };
  const trailing =
    WEIGHT_LEAD.test(tokens[weight.to]?.word ?? '') ||
    (tokens[weight.to]?.word === 'birth' && tokens[weight.to + 1]?.word === 'weight');
  if (trailing) span.to += tokens[weight.to]!.word === 'birth' ? 2 : 1;
  // Grams alone may be a weighed swab: only kilos and pounds speak for themselves.
  const speaksForItself = led || trailing || weight.converted || /kg/.test(spoken) || grams >= 1500;
  return speaksForItself ? { ...span, entries: [named] } : { ...span, entries: [named], problem: 'unclear' };
}

const LOSS_METHOD = /^(estimated|measured|total|quantitative|weighed|cumulative)$/;

/** "five hundred mils blood loss", "a litre of blood lost": the volume first, with its unit. */
function volumeFirst(tokens: readonly Token[], at: number, ranges: Ranges): Measured | undefined {
  const volume = volumeAt(tokens, at);
  if (!volume?.unit || volume.ml === undefined) return undefined;
  const after = tokens[volume.to]?.word === 'of' ? volume.to + 1 : volume.to;
  if (tokens[after]?.word !== 'blood' || !/^(loss|lost)$/.test(tokens[after + 1]?.word ?? ''))
    return undefined;
  const millilitres = Math.round(volume.ml);
  const [low, high] = ranges.millilitres;
  const span = { from: at, to: after + 2 };
  return millilitres >= low && millilitres <= high
    ? { ...span, entries: [{ code: 'blood-loss', millilitres }] }
    : {
        ...span,
        entries: [{ code: 'blood-loss', spoken: wordsOf(tokens, at, volume.to) }],
        problem: 'out-of-range',
      };
}

/** Blood loss after its lead words: "blood loss", "ebl", "estimated blood loss", "measured blood loss". */
export function bloodLossAt(tokens: readonly Token[], at: number, ranges: Ranges): Measured | undefined {
  let from = at;
  while (LOSS_METHOD.test(tokens[from]?.word ?? '')) from += 1;
  const word = tokens[from]?.word;
  const led =
    word === 'ebl' ||
    word === 'qbl' ||
    (word === 'blood' && tokens[from + 1]?.word === 'loss') ||
    (word === 'loss' && from > at) ||
    (word === 'bleeding' && numberRun(tokens, skipLinks(tokens, from + 1)) !== undefined) ||
    word === 'bled' ||
    word === 'lost' ||
    (word === 'pph' && hasVolume(tokens, from + 1)) ||
    (word === 'loss' && hasVolume(tokens, from + 1));
  if (!led) return volumeFirst(tokens, at, ranges);
  const after = word === 'blood' ? from + 2 : from + 1;
  const valueAt = skipLinks(tokens, after);
  const volume = volumeAt(tokens, valueAt);
  const entry: Entry = { code: 'blood-loss' };
  if (!volume)
    return word === 'bled' || word === 'lost'
      ? undefined
      : { from: at, to: after, entries: [entry], problem: 'value-missing' };
  const spoken = wordsOf(tokens, valueAt, volume.to);
  if (!volume.problem && saysAny(tokens, after, valueAt, UPPER_BOUND)) volume.problem = 'unclear';
  const span = {
    from: at,
    to:
      tokens[volume.to]?.word === 'blood' && tokens[volume.to + 1]?.word === 'loss'
        ? volume.to + 2
        : volume.to,
  };
  if (volume.problem) return { ...span, entries: [{ ...entry, spoken }], problem: volume.problem };
  const millilitres = Math.round(volume.ml!);
  const [low, high] = ranges.millilitres;
  const fits = millilitres >= low && millilitres <= high;
  return fits
    ? { ...span, entries: [{ ...entry, millilitres }] }
    : { ...span, entries: [{ ...entry, spoken }], problem: 'out-of-range' };
}

const hasVolume = (tokens: readonly Token[], at: number): boolean => {
  const volume = volumeAt(tokens, skipLinks(tokens, at));
  return volume?.unit === true;
};

interface Volume {
  to: number;
  ml?: number;
  unit: boolean;
  problem?: 'unclear' | 'unit-missing';
}

function volumeAt(tokens: readonly Token[], at: number): Volume | undefined {
  if (tokens[at]?.word === 'a' && tokens[at + 1]?.word === 'litre') return litres(tokens, 1, at + 1);
  const run = numberRun(tokens, at);
  if (!run) return undefined;
  const unit = tokens[run.to]?.word;
  // "one five hundred" may be five hundred said after a slip.
  const hundreds = run.parts.length > 1 && run.parts.some((part) => part.kind === 'int' && part.value >= 100);
  const value = quantity(run) ?? (hundreds ? undefined : runTogether(run));
  if (unit === 'litre' || unit === 'l') {
    const exact = quantity(run);
    return exact === undefined
      ? { to: run.to + 1, unit: true, problem: 'unclear' }
      : litres(tokens, exact, run.to);
  }
  const said = unit === 'ml';
  const to = run.to + (said ? 1 : 0);
  if (value === undefined) {
    // "one fifty" is 150 or 1050, "twelve fifty" can only be 1250 and was taken above.
    return { to, unit: said, problem: 'unclear' };
  }
  if (said) return { to, ml: value, unit: true };
  return value >= 50 || value === 0
    ? { to, ml: value, unit: false }
    : { to, unit: false, problem: 'unit-missing' };
}

function litres(tokens: readonly Token[], value: number, unitAt: number): Volume {
  let to = unitAt + 1;
  if (
    tokens[to]?.word === 'and' &&
    tokens[to + 1]?.word === 'a' &&
    /^(half|quarter)$/.test(tokens[to + 2]?.word ?? '')
  ) {
    return { to: to + 3, ml: (value + (tokens[to + 2]!.word === 'half' ? 0.5 : 0.25)) * 1000, unit: true };
  }
  const joint = tokens[to]?.word === 'and' ? to + 1 : to;
  const rest = numberRun(tokens, joint);
  const more = rest && quantity(rest);
  if (!rest || !Number.isInteger(value)) return { to, ml: value * 1000, unit: true };
  const said = tokens[rest.to]?.word === 'ml';
  if (!said && /^(minutes|seconds|kg|grams|units)$/.test(tokens[rest.to]?.word ?? ''))
    return { to, ml: value * 1000, unit: true };
  to = rest.to + (said ? 1 : 0);
  const sure = more !== undefined && more < 1000 && (said || more >= 100);
  return sure ? { to, ml: value * 1000 + more, unit: true } : { to, unit: true, problem: 'unclear' };
}
