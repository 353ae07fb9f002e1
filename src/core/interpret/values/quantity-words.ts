import type { Token } from '../words/normalise.ts';
import { numberRun, wholeNumbers, type NumberRun } from './numbers.ts';

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

export function skipLinks(tokens: readonly Token[], at: number): number {
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
export function runTogether(run: NumberRun): number | undefined {
  const whole = wholeNumbers(run);
  if (!whole || whole.length < 2) return undefined;
  const digits = run.parts.map((part) => (part as { digits: string }).digits).join('');
  return digits.length === 4 ? Number(digits) : undefined;
}

export const saysAny = (tokens: readonly Token[], from: number, to: number, words: RegExp): boolean =>
  tokens.slice(from, to).some(({ word }) => words.test(word));
