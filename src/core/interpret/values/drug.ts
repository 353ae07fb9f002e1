import type { Entry } from '../../entry.ts';
import type { Compiled } from '../sentence/compile.ts';
import type { Measured } from './measured.ts';
import type { Token } from '../words/normalise.ts';
import { numberRun, wordsOf } from './numbers.ts';
import { matchesAt, NONE } from '../words/trie.ts';

const UNITS = /^(units|unit|mg|mcg|grams|g|ml|iu|international|litre|puffs|puff|sprays|percent)$/;
const ROUTES =
  /^(im|iv|intramuscular|intramuscularly|intravenous|intravenously|sublingual|sublingually|pr|rectally|orally|subcut|subcutaneous|subcutaneously|bolus|infusion|into|thigh|slowly)$/;
const GIVEN = /^(given|gave|giving|administered|administering|injected)$/;
const FILLERS = new Set([
  'of',
  'the',
  'is',
  'has',
  'been',
  "'s",
  'a',
  'i',
  "i've",
  'we',
  "we've",
  'have',
  'now',
  'was',
  'and',
  'to',
  'her',
  'mum',
  'by',
  'are',
  'just',
  'going',
  'gone',
]);

/**
 * A drug by any of its names, with its dose as spoken where it was said. Only "given" and the like say
 * that it went in; a name alone, an order, or a dose alone is a question.
 */
export function drugAt(tokens: readonly Token[], at: number, compiled: Compiled): Measured | undefined {
  if (
    FILLERS.has(tokens[at]!.word) &&
    !(tokens[at]!.word === 'a' && /^grams?$/.test(tokens[at + 1]?.word ?? ''))
  )
    return undefined;
  let drug: string | undefined;
  let given = false;
  let order = false;
  let to = at;
  let lastUsed = at;
  const dose: string[] = [];
  while (to < tokens.length) {
    const { word } = tokens[to]!;
    const named = matchesAt(compiled.drugs, tokens, to, NONE).sort((a, b) => b.to - a.to)[0];
    if (named) {
      if (drug && drug !== named.meaning) break;
      drug = named.meaning;
      to = lastUsed = named.to;
      continue;
    }
    const run = word === 'a' ? undefined : numberRun(tokens, to);
    if (run && UNITS.test(tokens[run.to]?.word ?? '')) {
      let end = run.to + 1;
      while (UNITS.test(tokens[end]?.word ?? '')) end += 1;
      dose.push(wordsOf(tokens, to, end));
      to = lastUsed = end;
    } else if (word === 'a' && /^(gram|grams)$/.test(tokens[to + 1]?.word ?? '')) {
      dose.push(wordsOf(tokens, to, to + 2));
      to = lastUsed = to + 2;
    } else if (ROUTES.test(word) && (dose.length > 0 || drug)) {
      if (dose.length > 0) dose.push(tokens[to]!.raw);
      to = lastUsed = to + 1;
    } else if (
      GIVEN.test(word) ||
      (drug &&
        /^(in|started|up)$/.test(word) &&
        !/^(a|the|case|here|minutes)$/.test(tokens[to + 1]?.word ?? ''))
    ) {
      given = true;
      to = lastUsed = to + 1;
    } else if (word === 'give' || word === 'draw') {
      order = true;
      to = lastUsed = to + 1;
    } else if (FILLERS.has(word)) to += 1;
    else break;
  }
  if (!drug) return undefined;
  const entry: Entry = { code: 'drug-given', drug, ...(dose.length > 0 ? { dose: dose.join(' ') } : {}) };
  return {
    from: at,
    to: lastUsed,
    entries: [entry],
    ...(given && !order ? {} : { problem: 'unclear' as const }),
  };
}
