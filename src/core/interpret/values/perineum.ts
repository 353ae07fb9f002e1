import type { Entry, PerinealGrade } from '../../entry.ts';
import { WORDS } from '../../vocabulary/words.ts';
import type { Measured } from './measured.ts';
import type { Token } from '../words/normalise.ts';
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

const LETTERS: Record<string, 'a' | 'b' | 'c'> = {
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
/** Words that announce the letter of a third-degree tear. */
const ANNOUNCES = /^(grade|type|class|category|subtype|letter|subgroup)$/;
const BEFORE_LETTER = /^(degree|tear|tears|perineal|laceration|is|it's|sub|and)$/;

interface Letter {
  at: number;
  grade: '3a' | '3b' | '3c';
  /** The letter may be another word: "a", "be", "see". */
  unsure: boolean;
}

/** The letter of a third-degree tear: "three b", "third degree tear grade a", "third degree three c". */
function letterAfter(tokens: readonly Token[], degreeAt: number, numeric: boolean): Letter | undefined {
  let at = degreeAt + 1;
  let announced = numeric;
  for (;;) {
    const word = tokens[at]?.word ?? '';
    if (word === 'a' && /^(three|3)$/.test(tokens[at + 1]?.word ?? '')) at += 1;
    else if (ANNOUNCES.test(word) || /^(three|3)$/.test(word)) {
      announced = true;
      at += 1;
    } else if (BEFORE_LETTER.test(word)) {
      announced = false;
      at += 1;
    } else break;
  }
  const word = tokens[at]?.word ?? '';
  if (!Object.hasOwn(LETTERS, word)) return undefined;
  const ends = at === tokens.length - 1 || tokens[at + 1]!.afterPause;
  return {
    at,
    grade: `3${LETTERS[word]!}`,
    unsure: word.length > 1 || (word === 'a' && !announced && !ends),
  };
}

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
      const numeric = !/^(first|second|third|fourth)$/.test(word);
      const letter = digit === '3' ? letterAfter(tokens, to, numeric) : undefined;
      if (letter?.unsure) unsure = true;
      if (letter) {
        grades.push(letter.grade);
        if (letter.unsure) grades.push('3');
        context ||= letter.at > to + 1;
        to = letter.at + 1;
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

/** "no tears, love": said to somebody who cries. */
const isConsoling = (tokens: readonly Token[]): boolean =>
  !tokens.some(({ word }) => /^(perineum|perineal|vaginal|intact|seen|placenta|delivered)$/.test(word)) &&
  tokens.some(({ word }) => CONSOLING.has(word));
const CONSOLING: ReadonlySet<string> = new Set(WORDS.consoling);

/** "intact except a first degree": not intact. */
const EXCEPT = /^(except|but|apart|besides|bar|though)$/;

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
  ['no', 'perineal', 'lacerations'],
  ['no', 'perineal', 'injury'],
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
  return words && !(words.includes('tears') && isConsoling(tokens))
    ? {
        from: at,
        to: at + words.length,
        entries: [{ code: 'perineum', grade: 'intact' }],
        ...(tokens.slice(at + words.length).some(({ word }) => EXCEPT.test(word))
          ? { problem: 'unclear' as const }
          : {}),
      }
    : undefined;
}
