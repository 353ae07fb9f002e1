import type { Entry } from '../../entry.ts';
import type { Ranges } from '../../vocabulary/vocabulary.ts';
import words from './blood-loss.json';
import type { Measured } from './measured.ts';
import type { Token } from '../words/normalise.ts';
import { numberRun, wordsOf } from './numbers.ts';
import { skipLinks } from './quantity-words.ts';
import { volumeAt, type Volume } from './volume.ts';

type Method = NonNullable<Entry['method']>;
type Basis = NonNullable<Entry['basis']>;

/** What stands beside an amount; a word of each kind at most, or it is unclear. */
interface Qualifiers {
  method?: Method;
  basis?: Basis;
  unclear?: true;
}

type Qualifier = { kind: 'method'; value: Method } | { kind: 'basis'; value: Basis };

const QUALIFIERS: { said: string[]; means: Qualifier }[] = [
  ...Object.entries(words.method).flatMap(([value, list]) =>
    list.map((said) => ({
      said: said.split(' '),
      means: { kind: 'method' as const, value: value as Method },
    })),
  ),
  ...Object.entries(words.basis).flatMap(([value, list]) =>
    list.map((said) => ({ said: said.split(' '), means: { kind: 'basis' as const, value: value as Basis } })),
  ),
].sort((a, b) => b.said.length - a.said.length);

function qualifierAt(tokens: readonly Token[], at: number): { said: string[]; means: Qualifier } | undefined {
  // "more than a litre" names a bound.
  if (tokens[at]?.word === 'more' && tokens[at + 1]?.word === 'than') return undefined;
  return QUALIFIERS.find(({ said }) => said.every((word, offset) => tokens[at + offset]?.word === word));
}

/** Reads the qualifiers between two places, whatever else stands there. */
function qualifiersIn(tokens: readonly Token[], from: number, to: number, into: Qualifiers): void {
  for (let at = from; at < to;) {
    const found = qualifierAt(tokens, at);
    if (!found) {
      at += 1;
      continue;
    }
    const { kind, value } = found.means;
    if (into[kind] !== undefined && into[kind] !== value) into.unclear = true;
    Object.assign(into, { [kind]: value });
    at += found.said.length;
  }
}

/** The end of the qualifiers that begin at a place, one after another. */
function skipQualifiers(tokens: readonly Token[], at: number): number {
  let to = at;
  for (;;) {
    const found = qualifierAt(tokens, to);
    if (found) to += found.said.length;
    else if (tokens[to]?.word === 'a' && qualifierAt(tokens, to + 1)) to += 1;
    else return to;
  }
}

/** Between the lead and the amount: links, and qualifiers among them. */
function skipToAmount(tokens: readonly Token[], at: number): number {
  let to = at;
  for (;;) {
    let next = skipLinks(tokens, skipQualifiers(tokens, to));
    while (BOUNDS.has(tokens[next]?.word ?? '')) next += 1;
    if (next === to) return to;
    to = next;
  }
}

/** "up to eight hundred", "over a litre" name a bound and no loss. */
const BOUNDS: ReadonlySet<string> = new Set(words.bounds);

/** The lead word of a blood loss and where it ends. */
function leadAt(
  tokens: readonly Token[],
  at: number,
): { from: number; to: number; word: string } | undefined {
  const from = skipQualifiers(tokens, at);
  const start = from > at && /^(ebl|qbl)$/.test(tokens[from - 1]!.word) ? from - 1 : from;
  const word = tokens[start]?.word ?? '';
  const next = tokens[start + 1]?.word;
  if (word === 'ebl' || word === 'qbl') return { from: start, to: start + 1, word };
  if (word === 'blood' && next === 'loss') return { from: start, to: start + 2, word };
  if (word === 'blood' && next === 'lost') return { from: start, to: start + 2, word };
  const valued = (): boolean => volumeAt(tokens, skipToAmount(tokens, start + 1))?.unit === true;
  const counts =
    (word === 'loss' && (from > at || valued())) ||
    (word === 'bleeding' && numberRun(tokens, skipToAmount(tokens, start + 1)) !== undefined) ||
    word === 'bled' ||
    word === 'lost' ||
    (word === 'pph' && valued());
  return counts ? { from: start, to: start + 1, word } : undefined;
}

/** "five hundred mils blood loss", "another litre of blood lost": the volume first, with its unit. */
function volumeFirst(tokens: readonly Token[], at: number, ranges: Ranges): Measured | undefined {
  const valueAt = skipQualifiers(tokens, at);
  const volume = volumeAt(tokens, valueAt);
  if (!volume?.unit || volume.ml === undefined) return undefined;
  const between = skipQualifiers(tokens, volume.to);
  const after = tokens[between]?.word === 'of' ? between + 1 : between;
  const lost = tokens[between]?.word === 'lost';
  if (!lost && (tokens[after]?.word !== 'blood' || !/^(loss|lost)$/.test(tokens[after + 1]?.word ?? '')))
    return undefined;
  const end = lost ? between + 1 : after + 2;
  return settle(tokens, { from: at, valueAt, end }, volume, ranges);
}

/** The entry, with method and basis from the words around the amount. */
function settle(
  tokens: readonly Token[],
  span: { from: number; valueAt: number; end: number },
  volume: Volume,
  ranges: Ranges,
): Measured {
  const to = skipQualifiers(tokens, span.end);
  const qualifiers: Qualifiers = {};
  qualifiersIn(tokens, span.from, span.valueAt, qualifiers);
  qualifiersIn(tokens, volume.to, to, qualifiers);
  const { unclear, ...known } = qualifiers;
  const entry: Entry = { code: 'blood-loss', ...(unclear ? {} : known) };
  const spoken = wordsOf(tokens, span.valueAt, volume.to);
  const found = { from: span.from, to };
  if (volume.problem) return { ...found, entries: [{ ...entry, spoken }], problem: volume.problem };
  const millilitres = Math.round(volume.ml!);
  const [low, high] = ranges.millilitres;
  if (millilitres < low || millilitres > high)
    return { ...found, entries: [{ ...entry, spoken }], problem: 'out-of-range' };
  // "five hundred plus" is more than that.
  if (tokens[volume.to]?.word === 'plus') qualifiers.unclear = true;
  const whole = { ...found, entries: [{ ...entry, millilitres }] };
  if (!unclear && !qualifiers.unclear) return whole;
  return {
    ...whole,
    entries: [{ ...entry, millilitres, spoken: wordsOf(tokens, span.from, to) }],
    problem: 'unclear',
  };
}

/** Blood loss after its lead words: "blood loss", "ebl", "total estimated blood loss", "another five hundred lost". */
export function bloodLossAt(tokens: readonly Token[], at: number, ranges: Ranges): Measured | undefined {
  const swabs = swabWeightAt(tokens, at);
  if (swabs) return swabs;
  const lead = leadAt(tokens, at);
  if (!lead) return volumeFirst(tokens, at, ranges);
  const valueAt = skipToAmount(tokens, lead.to);
  const volume = volumeAt(tokens, valueAt);
  if (!volume) {
    if (lead.word === 'bled' || lead.word === 'lost') return undefined;
    const qualifiers: Qualifiers = {};
    qualifiersIn(tokens, at, lead.to, qualifiers);
    const { unclear: _unclear, ...known } = qualifiers;
    return { from: at, to: lead.to, entries: [{ code: 'blood-loss', ...known }], problem: 'value-missing' };
  }
  if (!volume.problem && tokens.slice(lead.to, valueAt).some(({ word }) => BOUNDS.has(word)))
    volume.problem = 'unclear';
  const repeated = tokens[volume.to]?.word === 'blood' && tokens[volume.to + 1]?.word === 'loss';
  return settle(tokens, { from: at, valueAt, end: repeated ? volume.to + 2 : volume.to }, volume, ranges);
}

const SWABS = new Set(words.swabs);
const AROUND_SWABS = new Set(words.aroundSwabs);

export const isSwab = (word: string): boolean => SWABS.has(word);

/** "swabs weigh four hundred grams": a weight of cloth and blood is no volume and no birth weight; a person decides. */
function swabWeightAt(tokens: readonly Token[], at: number): Measured | undefined {
  if (!SWABS.has(tokens[at]!.word) && !numberRun(tokens, at)) return undefined;
  let to = at;
  let swabs = false;
  let weighed = false;
  let amount: { from: number; to: number } | undefined;
  while (to < tokens.length) {
    const { word } = tokens[to]!;
    const run = numberRun(tokens, to);
    if (run && !amount) {
      const unit = /^(grams|g|kg|ml)$/.test(tokens[run.to]?.word ?? '') ? 1 : 0;
      amount = { from: to, to: run.to + unit };
      to = amount.to;
      continue;
    }
    if (!SWABS.has(word) && !AROUND_SWABS.has(word)) break;
    swabs ||= SWABS.has(word);
    weighed ||= /^weigh(ed|s|ing|t)?$/.test(word);
    to += 1;
  }
  if (!swabs || !amount) return undefined;
  const spoken = wordsOf(tokens, amount.from, amount.to);
  const entry: Entry = { code: 'blood-loss', ...(weighed ? { method: 'weighed' } : {}), spoken };
  return { from: at, to: Math.max(amount.to, to), entries: [entry], problem: 'unclear' };
}
