import type { Token } from '../words/normalise.ts';

const ONES = [
  'zero',
  'one',
  'two',
  'three',
  'four',
  'five',
  'six',
  'seven',
  'eight',
  'nine',
  'ten',
  'eleven',
  'twelve',
  'thirteen',
  'fourteen',
  'fifteen',
  'sixteen',
  'seventeen',
  'eighteen',
  'nineteen',
];
const TENS = ['', '', 'twenty', 'thirty', 'forty', 'fifty', 'sixty', 'seventy', 'eighty', 'ninety'];
const UNITS = new Map(ONES.map((word, value) => [word, value]));
const TENS_VALUES = new Map(
  TENS.map((word, tens) => [word, tens * 10] as const).filter(([word]) => word !== ''),
);
TENS_VALUES.set('fourty', 40);
UNITS.set('nought', 0).set('nil', 0);
const REPEATS = new Map([
  ['double', 2],
  ['triple', 3],
  ['treble', 3],
]);
const POINT = new Set(['point', 'decimal', 'dot']);

/** One part of a spoken number: "seven point one eight" is 7, point, 1, 8; "seven eighteen" is 7, 18. */
export type Part =
  | { kind: 'int'; value: number; /** as digits, so that "oh five" keeps its nought */ digits: string }
  | { kind: 'point' }
  | { kind: 'half'; value: number };

export interface NumberRun {
  parts: Part[];
  from: number;
  /** Index after the last token of the number. */
  to: number;
}

const int = (value: number, digits = String(value)): Part => ({ kind: 'int', value, digits });

interface Whole {
  value: number;
  to: number;
}

function below100(tokens: readonly Token[], from: number): Whole | undefined {
  const word = tokens[from]?.word ?? '';
  const tens = TENS_VALUES.get(word);
  const one = UNITS.get(word);
  if (tens !== undefined) {
    const next = UNITS.get(tokens[from + 1]?.word ?? '');
    const joins = next !== undefined && next > 0 && next < 10;
    return joins ? { value: tens + next, to: from + 2 } : { value: tens, to: from + 1 };
  }
  return one === undefined ? undefined : { value: one, to: from + 1 };
}

type ReadWhole = (tokens: readonly Token[], at: number) => Whole | undefined;

/** "three hundred and fifty", "a thousand and twenty": so many of a unit, and what is said below it. */
const upTo =
  (unit: string, size: number, below: ReadWhole, howMany: ReadWhole = below): ReadWhole =>
  (tokens, at) => {
    const article = tokens[at]?.word === 'a' && tokens[at + 1]?.word === unit;
    const head = article ? { value: 1, to: at + 1 } : howMany(tokens, at);
    if (!head || tokens[head.to]?.word !== unit || head.value === 0) return head;
    const joint = tokens[head.to + 1]?.word === 'and' ? head.to + 2 : head.to + 1;
    const rest = below(tokens, joint);
    return rest && rest.value > 0
      ? { value: head.value * size + rest.value, to: rest.to }
      : { value: head.value * size, to: head.to + 1 };
  };

/** Before a "hundred" of its own, one is understood: "hundred and fifty". */
const howManyHundreds: ReadWhole = (tokens, at) =>
  tokens[at]?.word === 'hundred' ? { value: 1, to: at } : below100(tokens, at);

const below1000 = upTo('hundred', 100, below100, howManyHundreds);

/** One grammatical whole number: "three thousand eight hundred and fifty". */
const cardinal = upTo('thousand', 1000, below1000);

/**
 * The longest run of number words that begins at `at`. Parts are kept apart: what "seven eighteen" means
 * depends on what is measured.
 */
export function numberRun(tokens: readonly Token[], at: number): NumberRun | undefined {
  const parts: Part[] = [];
  let to = at;
  for (;;) {
    const word = tokens[to]?.word;
    if (word === undefined) break;
    if (to > at && tokens[to]!.afterPause && !POINT.has(word)) break;
    if (/^\d/.test(word)) {
      parts.push(...digitParts(word));
      to += 1;
    } else if (POINT.has(word) && startsNumber(tokens[to + 1]?.word)) {
      if (parts.some((part) => part.kind === 'point')) break;
      parts.push({ kind: 'point' });
      to += 1;
    } else if (REPEATS.has(word)) {
      const digit = digitOf(tokens[to + 1]?.word);
      if (digit === undefined) break;
      for (let times = REPEATS.get(word)!; times > 0; times -= 1) parts.push(int(digit));
      to += 2;
    } else if ((word === 'oh' || word === 'o') && (parts.length > 0 || startsNumber(tokens[to + 1]?.word))) {
      parts.push(int(0));
      to += 1;
    } else if (
      word === 'and' &&
      parts.length > 0 &&
      tokens[to + 1]?.word === 'a' &&
      /^(half|quarter)$/.test(tokens[to + 2]?.word ?? '')
    ) {
      parts.push({ kind: 'half', value: tokens[to + 2]!.word === 'half' ? 0.5 : 0.25 });
      to += 3;
      break;
    } else if (word === 'half' && parts.length === 0) {
      parts.push({ kind: 'half', value: 0.5 });
      to += tokens[to + 1]?.word === 'a' || tokens[to + 1]?.word === 'an' ? 2 : 1;
      break;
    } else {
      const found = cardinal(tokens, to);
      if (!found) break;
      parts.push(int(found.value));
      to = found.to;
    }
  }
  return parts.length > 0 && parts.some((part) => part.kind !== 'point')
    ? { parts, from: at, to }
    : undefined;
}

function digitParts(word: string): Part[] {
  const [whole, fraction] = word.split('.');
  const parts: Part[] = [int(Number(whole), whole)];
  if (fraction !== undefined) parts.push({ kind: 'point' }, int(Number(fraction), fraction));
  return parts;
}

const digitOf = (word: string | undefined): number | undefined => {
  if (word === undefined) return undefined;
  if (word === 'oh' || word === 'o') return 0;
  const value = /^\d$/.test(word) ? Number(word) : UNITS.get(word);
  return value !== undefined && value < 10 ? value : undefined;
};

/** True for a word with which a number can begin (not "a"). */
export function startsNumber(word: string | undefined): boolean {
  return (
    word !== undefined &&
    (/^\d/.test(word) ||
      UNITS.has(word) ||
      TENS_VALUES.has(word) ||
      REPEATS.has(word) ||
      word === 'oh' ||
      word === 'o' ||
      word === 'hundred')
  );
}

/** Whole numbers in the run, in order; undefined where it holds a point or a half. */
export function wholeNumbers(run: NumberRun): number[] | undefined {
  const values = run.parts.map((part) => (part.kind === 'int' ? part.value : undefined));
  return values.every((value) => value !== undefined) ? (values as number[]) : undefined;
}

/**
 * The run as one quantity where that is beyond doubt: a whole number, "four point two", "point five",
 * "one and a half". Several whole numbers in a row ("seven eighteen") are none.
 */
export function quantity(run: NumberRun): number | undefined {
  const pointAt = run.parts.findIndex((part) => part.kind === 'point');
  const ints = run.parts.filter((part) => part.kind === 'int');
  const half = run.parts.find((part) => part.kind === 'half');
  if (pointAt === -1) {
    if (ints.length > 1) return undefined;
    return (ints[0]?.value ?? 0) + (half?.value ?? 0);
  }
  if (half || pointAt > 1) return undefined;
  const after = run.parts.slice(pointAt + 1).filter((part) => part.kind === 'int');
  // A second point ("three point eight point five") is no number.
  if (after.length === 0 || after.length < run.parts.length - pointAt - 1) return undefined;
  // "point one eight" is read digit by digit; "point eighteen" at one go; a mixture is nobody's way of saying it.
  const digitByDigit = after.every((part) => part.digits.length === 1);
  if (!digitByDigit && after.length > 1) return undefined;
  const whole = pointAt === 1 ? (run.parts[0] as { digits: string }).digits : '0';
  return Number(`${whole}.${after.map((part) => part.digits).join('')}`);
}

/** The words of a stretch of tokens as they were written, for `spoken`. */
export const wordsOf = (tokens: readonly Token[], from: number, to: number): string =>
  tokens
    .slice(from, to)
    .map((token) => token.raw)
    .filter(Boolean)
    .join(' ');
