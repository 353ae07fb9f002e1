import type { Entry } from '../../entry.ts';
import type { Ranges } from '../../vocabulary/vocabulary.ts';
import { WORDS } from '../../vocabulary/words.ts';
import type { Measured } from './measured.ts';
import type { Token } from '../words/normalise.ts';
import { numberRun, quantity, wordsOf } from './numbers.ts';
import { timeAt } from './times.ts';

interface Item {
  kind: 'score' | 'minute';
  value: number;
  /** As a score or minute that was said with a point or a half. */
  fraction: boolean;
  spoken: string;
}

const SKIPPED = new Set([
  'apgar',
  'score',
  'scores',
  'of',
  'is',
  'was',
  'were',
  'are',
  'the',
  'a',
  "'s",
  'and',
  'then',
  'so',
  'now',
  'baby',
  'scored',
  'scoring',
  'it',
  'age',
  'life',
  'at',
  'for',
  'to',
  'given',
  'as',
  'has',
  'an',
  'in',
  'first',
  'i',
  'make',
  'that',
  "that's",
  'we',
  'give',
  'with',
  'out',
  'please',
  'mark',
  'respectively',
  'called',
  'i',
  'would',
  'say',
  'by',
]);

/** Reads scores and minutes from an Apgar stretch; undefined where no Apgar begins here. */
export function apgarAt(tokens: readonly Token[], at: number, ranges: Ranges): Measured | undefined {
  const begins = tokens[at]!.word === 'apgar' || leadsToApgar(tokens, at);
  if (!begins) return pairsAlone(tokens, at, ranges);
  const items: Item[] = [];
  let to = at;
  let lastUsed = at;
  let seen = false;
  let atPending = false;
  while (to < tokens.length) {
    const word = tokens[to]!.word;
    if (word === 'apgar') seen = true;
    // "eight by ten" and "eight out of ten" say the scale, not the minute.
    if (
      word === 'by' &&
      /^(ten|10)$/.test(tokens[to + 1]?.word ?? '') &&
      tokens[to + 2]?.word !== 'minutes'
    ) {
      to += 2;
      lastUsed = to;
      continue;
    }
    if (word === 'out' && tokens[to + 1]?.word === 'of' && /^(ten|10)$/.test(tokens[to + 2]?.word ?? '')) {
      to += 3;
      lastUsed = to;
      continue;
    }
    const run = timeAt(tokens, to) ? undefined : numberRun(tokens, to);
    if (run) {
      const minuteWord = tokens[run.to]?.word === 'minutes';
      const parts = run.parts.some((part) => part.kind !== 'int')
        ? [{ value: quantity(run) ?? NaN, fraction: true }]
        : run.parts.map((part) => ({ value: (part as { value: number }).value, fraction: false }));
      parts.forEach((part, index) => {
        const last = index === parts.length - 1;
        const isMinute =
          (last && minuteWord) ||
          (index === 0 && atPending) ||
          (last && isPairedMinute(tokens, run.to, items, index === 0 && atPending));
        items.push({
          kind: isMinute ? 'minute' : 'score',
          ...part,
          spoken: wordsOf(tokens, run.from, run.to),
        });
      });
      atPending = false;
      to = run.to + (minuteWord ? 1 : 0);
      lastUsed = to;
      continue;
    }
    if (word === 'at' || word === 'by') atPending = true;
    else if (word !== 'the' && word !== 'a') atPending = atPending && word === 'and';
    if (!SKIPPED.has(word) && word !== 'apgar') break;
    if (word === 'apgar') lastUsed = to + 1;
    to += 1;
  }
  if (!seen) return undefined;
  return settle(items, { from: at, to: lastUsed }, ranges);
}

/** "seven and nine at one and five": a number joined by "and" to a minute is a minute when scores are ahead. */
function isPairedMinute(tokens: readonly Token[], to: number, items: Item[], atPending: boolean): boolean {
  if (atPending) return true;
  const last = items[items.length - 1];
  if (last?.kind !== 'minute') return false;
  const scores = items.filter((item) => item.kind === 'score').length;
  const minutes = items.length - scores;
  const next = tokens[to]?.word;
  return scores > minutes && next !== 'at';
}

/** "five minute apgar nine", "nine at one minute apgar": numbers and minute words, then the word Apgar. */
function leadsToApgar(tokens: readonly Token[], at: number): boolean {
  const first = numberRun(tokens, at);
  if (!first) return false;
  let to = first.to;
  while (to < tokens.length && to < at + 8) {
    const word = tokens[to]!.word;
    if (word === 'apgar') return true;
    const run = numberRun(tokens, to);
    if (run) to = run.to;
    else if (/^(minutes|and|at|the|a|is)$/.test(word)) to += 1;
    else return false;
  }
  return false;
}

function settle(items: Item[], span: { from: number; to: number }, ranges: Ranges): Measured {
  const scores = items.filter((item) => item.kind === 'score');
  const minutes = items.filter((item) => item.kind === 'minute');
  const entries = Array.from({ length: Math.max(scores.length, minutes.length, 1) }, (_, index) =>
    entryOf(scores[index], minutes.length === 1 && scores.length === 1 ? minutes[0] : minutes[index], ranges),
  );
  const paired = pairsIn(items, span, ranges);
  if (paired) return paired;
  const outOfRange = entries.some((entry) => entry.spoken !== undefined);
  const found = { ...span, entries };
  if (outOfRange) return { ...found, problem: 'out-of-range' };
  if (scores.length === 0) return { ...found, problem: 'value-missing' };
  if (minutes.length === 0)
    return { ...found, problem: 'minute-missing', alternatives: minuteChoices(entries, ranges) };
  if (scores.length !== minutes.length) {
    return { ...found, problem: scores.length > minutes.length ? 'minute-missing' : 'value-missing' };
  }
  if (new Set(minutes.map((minute) => minute.value)).size < minutes.length)
    return { ...found, problem: 'unclear' };
  return found;
}

/** The minutes after which Apgar scores are said one after another. */
const USUAL = [1, 5, 10];

/**
 * "two one, five five, seven ten": scores and minutes in turn, taken for that only where at least two pairs end in
 * one, five and ten in that order.
 */
function pairsIn(
  items: readonly Item[],
  span: { from: number; to: number },
  ranges: Ranges,
): Measured | undefined {
  if (items.length < 4 || items.length % 2 === 1) return undefined;
  const pairs = Array.from(
    { length: items.length / 2 },
    (_, at) => [items[2 * at]!, items[2 * at + 1]!] as const,
  );
  const inTurn = pairs.every(
    ([score, minute], at) =>
      score.kind === 'score' &&
      !score.fraction &&
      USUAL.includes(minute.value) &&
      (at === 0 || minute.value > pairs[at - 1]![1].value),
  );
  if (!inTurn) return undefined;
  const entries = pairs.map(([score, minute]) => entryOf(score, minute, ranges));
  const bad = entries.some(({ spoken }) => spoken !== undefined);
  return { ...span, entries, ...(bad ? { problem: 'out-of-range' as const } : {}) };
}

/** Six numbers and nothing else that pair off as scores at one, five and ten minutes. */
function pairsAlone(tokens: readonly Token[], at: number, ranges: Ranges): Measured | undefined {
  const items: Item[] = [];
  let to = at;
  while (to < tokens.length) {
    const run = numberRun(tokens, to);
    if (!run) break;
    for (const part of run.parts)
      if (part.kind === 'int')
        items.push({
          kind: 'score',
          value: part.value,
          fraction: false,
          spoken: wordsOf(tokens, run.from, run.to),
        });
      else return undefined;
    to = run.to;
  }
  const around = [...tokens.slice(0, at), ...tokens.slice(to)];
  if (items.length !== 6 || !around.every(({ word }) => WORDS.light.has(word) || WORDS.benign.includes(word)))
    return undefined;
  const found = pairsIn(items, { from: at, to }, ranges);
  return found;
}

function entryOf(
  score: Item | undefined,
  minute: Item | undefined,
  { score: [low, high], minutes }: Ranges,
): Entry {
  const entry: Entry = { code: 'apgar' };
  const spoken: string[] = [];
  if (minute) {
    if (minutes.includes(minute.value)) entry.minute = minute.value as Entry['minute'];
    else spoken.push(`${minute.spoken} minutes`);
  }
  if (score) {
    if (!score.fraction && score.value >= low && score.value <= high) entry.score = score.value;
    else spoken.push(score.spoken);
  }
  if (spoken.length > 0) entry.spoken = spoken.join(', ');
  return entry;
}

function minuteChoices(entries: Entry[], { minutes }: Ranges): Entry[][] {
  if (entries.length === 1)
    return [1, 5, 10].map((minute) => [{ ...entries[0]!, minute: minute as Entry['minute'] }]);
  return [entries.map((entry, index) => ({ ...entry, minute: minutes[index] as Entry['minute'] }))];
}
