import type { Entry } from '../../entry.ts';
import type { Ranges } from '../../vocabulary/vocabulary.ts';
import { isSwab } from './blood-loss.ts';
import type { Measured } from './measured.ts';
import type { Token } from '../words/normalise.ts';
import { numberRun, quantity, wordsOf, type NumberRun } from './numbers.ts';
import { runTogether, saysAny, skipLinks } from './quantity-words.ts';

/** International avoirdupois pound and ounce: 453.59237 g and 28.349523125 g, exact by definition. */
const GRAMS_PER_POUND = 453.59237;

const GRAMS_PER_OUNCE = 28.349523125;

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
  if (tokens.some(({ word }) => isSwab(word))) return undefined;
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
  const bareVerb = /^weigh(s|ed|ing)$/.test(tokens[from]!.word) && tokens[from - 1]?.word !== 'baby';
  const speaksForItself =
    (led && !(bareVerb && grams < 1500)) ||
    trailing ||
    weight.converted ||
    /kg/.test(spoken) ||
    grams >= 1500;
  return speaksForItself ? { ...span, entries: [named] } : { ...span, entries: [named], problem: 'unclear' };
}
