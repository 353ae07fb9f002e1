import type { Entry, PerinealGrade } from '../entry.ts';
import { WORDS } from '../vocabulary/words.ts';
import type { Measured } from './measured.ts';
import type { Token } from './normalise.ts';
import { wordsOf } from './numbers.ts';

const DEGREES: Record<string, PerinealGrade> = {
  first: '1',
  second: '2',
  third: '3',
  fourth: '4',
  one: '1',
  two: '2',
  three: '3',
  four: '4',
  '1': '1',
  '2': '2',
  '3': '3',
  '4': '4',
};
const BAD_DEGREES = new Set(['fifth', 'five', '5', 'sixth', 'six', '6', 'zero', 'nought', '0']);
const GRADE_SKIPPED = new Set([
  'tear',
  'tears',
  'perineal',
  'perineum',
  'degree',
  'grade',
  'a',
  'is',
  'the',
  'with',
  'of',
  'has',
  'vaginal',
  'laceration',
  'lacerations',
  "it's",
  'there',
  "there's",
  'obstetric',
  'injury',
  'and',
  'lac',
]);

/** Tears by grade: "second degree tear", "three b tear", "perineum intact", "no tears", "grade three c". */
export function perineumAt(tokens: readonly Token[], at: number): Measured | undefined {
  const intact = intactAt(tokens, at);
  if (intact) return intact;
  const grades: PerinealGrade[] = [];
  let bad = false;
  let context = false;
  let unsure = false;
  let to = at;
  let lastUsed = at;
  const first = tokens[at]!.word;
  if (!(
    first in DEGREES ||
    BAD_DEGREES.has(first) ||
    /^(tear|tears|perineal|perineum|grade|degree|vaginal|laceration|obstetric)$/.test(first)
  ))
    return undefined;
  while (to < tokens.length) {
    const word = tokens[to]!.word;
    if (word in DEGREES) {
      const digit = DEGREES[word]!;
      let letterAt = to + 1;
      if (tokens[letterAt]?.word === 'degree') letterAt += 1;
      if (tokens[letterAt]?.word === 'tear') letterAt += 1;
      const letter = tokens[letterAt]?.word ?? '';
      const letters: Record<string, string> = {
        a: 'a',
        b: 'b',
        c: 'c',
        bee: 'b',
        be: 'b',
        see: 'c',
        sea: 'c',
        ay: 'a',
        eh: 'a',
      };
      const numeric = !/(st|nd|rd|th)$|first|second|third|fourth/.test(word);
      const isLetter =
        digit === '3' &&
        letter in letters &&
        !(letter === 'a' && !numeric && /^(tear|perineal)$/.test(tokens[letterAt + 1]?.word ?? ''));
      if (isLetter && letter.length > 1) unsure = true;
      if (isLetter) {
        grades.push(`3${letters[letter]}` as PerinealGrade);
        context ||= letterAt > to + 1;
        to = letterAt + 1;
      } else {
        if (
          numeric &&
          tokens[to + 1]?.word !== 'degree' &&
          !/^(grade|degree)$/.test(tokens[to - 1]?.word ?? '') &&
          !/^(tear|laceration)$/.test(tokens[to + 1]?.word ?? '')
        )
          break;
        grades.push(digit);
        to += 1;
      }
      lastUsed = to;
    } else if (BAD_DEGREES.has(word) && /^(degree|tear)$/.test(tokens[to + 1]?.word ?? '')) {
      bad = true;
      to += 1;
      lastUsed = to;
    } else if (word === 'or' && grades.length > 0) {
      unsure = true;
      to += 1;
    } else if (GRADE_SKIPPED.has(word) || word === 'intact') {
      if (/^(tear|tears|perineal|perineum|degree|grade|laceration)$/.test(word)) {
        context = true;
        lastUsed = to + 1;
      }
      to += 1;
    } else break;
  }
  return settleGrade(tokens, at, lastUsed, grades, { bad, context, unsure });
}

function settleGrade(
  tokens: readonly Token[],
  from: number,
  to: number,
  grades: PerinealGrade[],
  { bad, context, unsure }: { bad: boolean; context: boolean; unsure: boolean },
): Measured | undefined {
  const entry: Entry = { code: 'perineum' };
  const span = { from, to };
  if (bad)
    return { ...span, entries: [{ ...entry, spoken: wordsOf(tokens, from, to) }], problem: 'out-of-range' };
  const lettered = grades.some((grade) => grade.length === 2);
  if (grades.length === 0) {
    const tear = tokens.slice(from, to).some((token) => /^(tears?|laceration|degree)$/.test(token.word));
    return context && tear ? { ...span, entries: [entry], problem: 'value-missing' } : undefined;
  }
  const alone = tokens.every(
    (token, index) =>
      (index >= from && index < to) || WORDS.light.has(token.word) || WORDS.benign.includes(token.word),
  );
  if (!context && !(lettered && alone)) return undefined;
  const distinct = [...new Set(grades)];
  if (distinct.length > 1 || unsure) {
    const [best, ...others] = distinct;
    return {
      ...span,
      entries: [{ ...entry, grade: best! }],
      problem: 'unclear',
      ...(others.length > 0 ? { alternatives: others.map((grade) => [{ ...entry, grade }]) } : {}),
    };
  }
  return { ...span, entries: [{ ...entry, grade: distinct[0]! }] };
}

const INTACT = [
  ['intact', 'perineum'],
  ['perineum', 'intact'],
  ['perineum', 'is', 'intact'],
  ['perineum', "'s", 'intact'],
  ['perineum', 'looks', 'intact'],
  ['no', 'tears'],
  ['no', 'tear'],
  ['no', 'perineal', 'tears'],
  ['no', 'perineal', 'tear'],
  ['no', 'lacerations'],
  ['no', 'laceration'],
  ['no', 'perineal', 'trauma'],
  ['perineum', 'is', 'completely', 'intact'],
  ['not', 'torn'],
  ['perineum', 'not', 'torn'],
  ['perineum', "isn't", 'torn'],
  ['no', 'vaginal', 'tears'],
  ['no', 'perineal', 'lacerations'],
  ['no', 'perineal', 'injury'],
  ['no', 'degree', 'tear'],
  ['no', 'trauma', 'to', 'the', 'perineum'],
  ['perineum', 'fully', 'intact'],
  ['intact', 'perineum', 'no', 'tears'],
  ['perineum', 'intact', 'no', 'tears'],
  ['perineum', 'was', 'intact'],
  ['without', 'tears'],
  ['without', 'a', 'tear'],
  ['perineum', 'remains', 'intact'],
  ['perineum', 'has', 'no', 'tears'],
  ['no', 'tears', 'seen'],
].sort((a, b) => b.length - a.length);

function intactAt(tokens: readonly Token[], at: number): Measured | undefined {
  const words = INTACT.find((phrase) => phrase.every((word, offset) => tokens[at + offset]?.word === word));
  return words
    ? { from: at, to: at + words.length, entries: [{ code: 'perineum', grade: 'intact' }] }
    : undefined;
}
