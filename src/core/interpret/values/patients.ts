import type { Token } from '../words/normalise.ts';
import words from './patient-words.json';

/** A word that says who is meant. `baby`: which of several; `unnamed`: one of several, and not which. */
export interface PatientWord {
  to: number;
  patient: 'mother' | 'baby';
  baby?: number;
  unnamed?: true;
}

const MOTHER = new Set(words.mother);
const BABY = new Set(words.baby);
const MANY = new Set(words.oneOfSeveral);
const NUMBERS: Readonly<Record<string, number>> = words.numbers;
const ORDINALS: Readonly<Record<string, number>> = words.ordinals;
/** After "baby" a number may be a value: only these words make it the number of a baby. */
const AFTER_NUMBER = new Set(words.afterNumber);

const LEADING = new Set(words.leading);
const ARTICLES = new Set(words.articles);

/** "twin two", "the second twin", "baby b" → one word "baby" with its number. */
export function foldBabies(tokens: readonly Token[]): Token[] {
  const out: Token[] = [];
  for (let at = 0; at < tokens.length; at += 1) {
    const [token, next, after] = [tokens[at]!, tokens[at + 1], tokens[at + 2]];
    const before = ORDINALS[token.word];
    const several = MANY.has(token.word);
    const behind = next === undefined || next.afterPause ? undefined : numberOf(next.word);
    const named =
      before !== undefined && next && (MANY.has(next.word) || (before > 1 && next.word === 'baby'))
        ? before
        : behind !== undefined &&
            (several ||
              (token.word === 'baby' && (!after || AFTER_NUMBER.has(after.word) || after.afterPause)))
          ? behind
          : undefined;
    if (named === undefined || !next) {
      out.push(token);
      continue;
    }
    out.push({
      ...token,
      word: 'baby',
      raw: `${token.raw} ${next.raw}`,
      question: next.question,
      baby: named,
    });
    at += 1;
  }
  return out;
}

const numberOf = (word: string): number | undefined =>
  NUMBERS[word] ?? (/^\d$/.test(word) ? Number(word) : undefined);

/** "on the baby", "for mum", "mum": with the small words that lead there. */
export function patientAt(tokens: readonly Token[], at: number): PatientWord | undefined {
  const led = LEADING.has(tokens[at]!.word) && at + 1 < tokens.length && !tokens[at + 1]!.afterPause;
  if (!led) return patientWordAt(tokens, at);
  const named = ARTICLES.has(tokens[at + 1]!.word) ? at + 2 : at + 1;
  return tokens[named] && patientWordAt(tokens, named);
}

function patientWordAt(tokens: readonly Token[], at: number): PatientWord | undefined {
  const { word, baby } = tokens[at]!;
  const to = at + 1;
  if (MOTHER.has(word)) return { to, patient: 'mother' };
  if (BABY.has(word)) return { to, patient: 'baby', ...(baby === undefined ? {} : { baby }) };
  return MANY.has(word) ? { to, patient: 'baby', unnamed: true } : undefined;
}
