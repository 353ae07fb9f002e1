import type { Words } from '../../vocabulary/words.ts';

/** One word of an utterance in the interpreter's own spelling. */
export interface Token {
  word: string;
  /** The word as it was written. */
  raw: string;
  /** True when a comma, full stop or question mark stands before it (written readings only). */
  afterPause: boolean;
  /** True when that sign ends a sentence. */
  afterStop?: true;
  /** Which baby, where a number was said of it. */
  baby?: number;
  /** True when a question mark follows it. */
  question: boolean;
}

const KEPT_CONTRACTION = /^(it|that|there|here|he|she|what|who|where|when|how|let)'s$/;

/** Words as written → plain pieces: lower case, no punctuation, digits split from letters. */
function pieces(text: string): Token[] {
  const tokens: Token[] = [];
  const spaced = text
    .replace(/\b(LOT|ROT|LOP|OP)\b/g, (position) => `${position.split('').join(' ')}`)
    .toLowerCase()
    .replace(/[‘’ʼ`]/g, "'")
    .replace(/[−–]\s*(?=\d)/g, ' minus ')
    .replace(/(^|\s)-\s*(?=\d)/g, '$1minus ')
    .replace(/\+\s*(?=\d)/g, ' plus ')
    .replace(/(\d)[:.](?=\d)/g, (match) => (match.endsWith(':') ? `${match[0]} colon ` : match))
    .replace(/(\d),(?=\d{3}\b)/g, '$1')
    .replace(/(\d)([a-z])/g, '$1 $2')
    .replace(/([a-z])(\d)/g, (_, letter: string, digit: string) => `${letter} ${digit}`)
    .replace(/[-–—/&]/g, (sign) => (sign === '&' ? ' and ' : ' '))
    .replace(/%/g, ' percent ');
  let pause = false;
  let stop = false;
  for (const match of spaced.matchAll(/\d+(?:\.\d+)?|\.\d+|[a-z']+|[.,;:!?…]/g)) {
    const piece = match[0];
    if (/^[.,;:!?…]$/.test(piece)) {
      pause = true;
      stop ||= piece !== ',';
      if (piece === '?' && tokens.length > 0) tokens[tokens.length - 1]!.question = true;
      continue;
    }
    const word = piece.startsWith('.')
      ? `0${piece}`
      : piece.replace(/^'+(?!s$)|'+$/g, (quotes) => (piece === "'s" ? quotes : ''));
    if (word === '') continue;
    tokens.push({
      word,
      raw: word,
      afterPause: pause,
      question: false,
      ...(stop ? { afterStop: true as const } : {}),
    });
    pause = stop = false;
  }
  return tokens;
}

const ORDINAL_DIGITS: Record<string, string> = { st: 'first', nd: 'second', rd: 'third', th: '' };

/** "1 st" from "1st" and the like → the ordinal word. */
function joinOrdinals(tokens: Token[]): Token[] {
  const out: Token[] = [];
  const named = ['', 'first', 'second', 'third', 'fourth', 'fifth'];
  for (const token of tokens) {
    const before = out[out.length - 1];
    if (before && token.word in ORDINAL_DIGITS && /^[1-5]$/.test(before.word))
      before.word = before.raw = named[Number(before.word)]!;
    else out.push(token);
  }
  return out;
}

function respell(tokens: Token[], spellings: ReadonlyMap<string, string[]>): Token[] {
  const out: Token[] = [];
  for (const token of tokens) {
    let { word } = token;
    let possessive = false;
    if (!spellings.has(word) && word.length > 2 && word.endsWith("'s") && !KEPT_CONTRACTION.test(word)) {
      word = word.slice(0, -2);
      possessive = true;
    }
    const respelt = spellings.get(word) ?? [word];
    respelt.forEach((part, index) =>
      out.push({
        word: part,
        raw: index === 0 ? token.raw : '',
        afterPause: index === 0 && token.afterPause,
        ...(index === 0 && token.afterStop ? { afterStop: true as const } : {}),
        question: index === respelt.length - 1 && token.question,
      }),
    );
    if (possessive) out.push({ word: "'s", raw: '', afterPause: false, question: token.question });
  }
  return out;
}

const rawOf = (tokens: Token[], at: number, length: number): string =>
  tokens
    .slice(at, at + length)
    .map((token) => token.raw)
    .filter(Boolean)
    .join(' ');

/** Replaces runs of words by their joined form ("p c o two" → "pco2"), longest first. */
function join(tokens: Token[], joins: Words['joinsByFirst']): Token[] {
  const out: Token[] = [];
  for (let at = 0; at < tokens.length;) {
    const candidates = joins.get(tokens[at]!.word);
    const found = candidates?.find(({ from }) =>
      from.every((word, offset) => tokens[at + offset]?.word === word),
    );
    if (!found) {
      out.push(tokens[at]!);
      at += 1;
      continue;
    }
    const last = tokens[at + found.from.length - 1]!;
    found.to.forEach((word, index) =>
      out.push({
        word,
        raw: index === 0 ? rawOf(tokens, at, found.from.length) : '',
        afterPause: index === 0 && tokens[at]!.afterPause,
        ...(index === 0 && tokens[at]!.afterStop ? { afterStop: true as const } : {}),
        question: index === found.to.length - 1 && last.question,
      }),
    );
    at += found.from.length;
  }
  return out;
}

/**
 * "3600 and 90" → "3690": digits that the untouched reading writes as they were said. Only where the second fits
 * into the zeros of the first, which is at least a hundred.
 */
function joinRest(tokens: readonly Token[]): Token[] {
  const out: Token[] = [];
  for (let at = 0; at < tokens.length; at += 1) {
    const token = tokens[at]!;
    const [and, rest] = [tokens[at + 1], tokens[at + 2]];
    const zeros = /^[1-9]\d*?(0{2,})$/.exec(token.word)?.[1]?.length ?? 0;
    const fits =
      zeros > 0 && and?.word === 'and' && /^[1-9]\d*$/.test(rest?.word ?? '') && rest!.word.length <= zeros;
    if (!fits) {
      out.push(token);
      continue;
    }
    const word = String(Number(token.word) + Number(rest!.word));
    out.push({ ...token, word, raw: `${token.raw} ${and!.raw} ${rest!.raw}`, question: rest!.question });
    at += 2;
  }
  return out;
}

/**
 * One token stream for both ways of writing: the recogniser's lower-case words with spelled letters
 * ("p h seven point one eight") and ordinary text with capitals and digits ("pH 7.18").
 */
export function normalise(text: string, words: Words): Token[] {
  return join(respell(joinRest(joinOrdinals(pieces(text))), words.spellings), words.joinsByFirst);
}
