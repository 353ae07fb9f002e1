import { clock } from './clock-times.ts';
import type { Token } from '../words/normalise.ts';
import { numberRun, quantity } from './numbers.ts';
import { VAGUE_BEFORE, type TimeSpan } from './time-span.ts';

const SECONDS: Record<string, number> = { second: 1, seconds: 1, minutes: 60, hours: 3600 };

const VAGUE_AMOUNT = new Set(['couple', 'few', 'several', 'some', 'while', 'bit', 'moment', 'ages']);

/** "a minute", "thirty seconds", "a minute and a half", "one and a half minutes", "two minutes thirty (seconds)". */
function duration(tokens: readonly Token[], at: number): { seconds: number; to: number } | undefined {
  let seconds = 0;
  let to = at;
  let last = Infinity;
  for (;;) {
    const word = tokens[to]?.word;
    if (word === 'and' && to > at) {
      if (
        tokens[to + 1]?.word === 'a' &&
        /^(half|quarter)$/.test(tokens[to + 2]?.word ?? '') &&
        last < Infinity
      ) {
        seconds += last * (tokens[to + 2]!.word === 'half' ? 0.5 : 0.25);
        return { seconds, to: to + 3 };
      }
      to += 1;
      continue;
    }
    let amount: number | undefined;
    let next: number;
    const run = word === 'a' || word === 'an' ? undefined : numberRun(tokens, to);
    if (run) {
      amount = quantity(run);
      next = run.to;
    } else if (word === 'a' || word === 'an') {
      amount = 1;
      next = to + 1;
      if (/^(half|quarter)$/.test(tokens[next]?.word ?? '')) {
        amount = tokens[next]!.word === 'half' ? 0.5 : 0.25;
        next += 1;
        if (tokens[next]?.word === 'of') next += 1;
        if (tokens[next]?.word === 'a' || tokens[next]?.word === 'an') next += 1;
      }
    } else break;
    const unit = SECONDS[tokens[next]?.word ?? ''];
    if (amount === undefined) return undefined;
    if (unit === undefined) {
      // "two minutes thirty ago": the seconds go without saying.
      if (last === 60 && run && amount < 60 && Number.isInteger(amount))
        return { seconds: seconds + amount, to: next };
      break;
    }
    if (unit >= last) break;
    seconds += amount * unit;
    last = unit;
    to = next + 1;
  }
  return to > at && last < Infinity ? { seconds, to } : undefined;
}

const AGO = /^(ago|earlier|back|since)$/;

/** "thirty seconds ago", "two minutes before"; vague amounts give a span without a time. */
function ago(tokens: readonly Token[], at: number): TimeSpan | undefined {
  let from = at;
  let vague = false;
  while (
    VAGUE_BEFORE.has(tokens[from]?.word ?? '') ||
    ((tokens[from]?.word === 'a' || tokens[from]?.word === 'at') &&
      VAGUE_BEFORE.has(tokens[from + 1]?.word ?? ''))
  ) {
    vague ||= tokens[from]!.word !== 'just' || VAGUE_BEFORE.has(tokens[from + 1]?.word ?? '');
    from += 1;
  }
  let probe = from;
  if (tokens[probe]?.word === 'a') probe += 1;
  if (VAGUE_AMOUNT.has(tokens[probe]?.word ?? '')) {
    probe += 1;
    if (tokens[probe]?.word === 'of') probe += 1;
    if ((tokens[probe]?.word ?? '') in SECONDS) probe += 1;
    return tokens[probe]?.word === 'ago' || tokens[probe]?.word === 'earlier'
      ? { from: at, to: probe + 1 }
      : undefined;
  }
  const found = duration(tokens, from);
  if (!found) return undefined;
  let { to } = found;
  const isOr = tokens[to]?.word === 'or' && (tokens[to + 1]?.word === 'so' || tokens[to + 1]?.word === 'two');
  if (isOr) {
    to += 2;
    vague = true;
  }
  const word = tokens[to]?.word ?? '';
  if (!AGO.test(word)) return undefined;
  if (word !== 'ago' && word !== 'earlier' && word !== 'back') return undefined;
  to += 1;
  return vague ? { from: at, to } : { from: at, to, time: { agoSeconds: Math.round(found.seconds) } };
}

/** The time phrase that begins at `at`, if any. */
export function timeAt(tokens: readonly Token[], at: number): TimeSpan | undefined {
  return ago(tokens, at) ?? clock(tokens, at);
}
