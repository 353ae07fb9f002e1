import type { Entry } from '../../entry.ts';
import { single, type Call } from '../sentence/calls.ts';
import { markContradictions } from './contradiction.ts';
import type { Alternative, Interpreted, Problem, SpokenTime } from '../interpretation.ts';
import type { Sense } from '../sentence/read.ts';
import thresholds from './thresholds.json';

const NOTHING: Interpreted = { outcome: 'unrecognised', entries: [], confidence: 0 };

/** Does one entry say all that the other says, and perhaps more? */
const covers = (fuller: Entry, barer: Entry): boolean =>
  (Object.keys(barer) as (keyof Entry)[]).every((slot) => fuller[slot] === barer[slot]);

/** "it's a boy, baby's out": what was open is said outright, before or after. */
const settles = (open: Call, clear: Call): boolean => {
  const [one, other] = [single(open), single(clear)];
  return (
    open.ambiguous === true &&
    !clear.problem &&
    !clear.doubtful &&
    !open.doubtful &&
    one !== undefined &&
    other !== undefined &&
    covers(other, one)
  );
};

/** The one reading of an open call that is of this code. */
const readingOf = (open: Call, code: string): Entry | undefined =>
  [open.entries, ...(open.alternatives ?? [])].find(
    (entries) => entries.length === 1 && entries[0]!.code === code,
  )?.[0];

/**
 * "arm's out, posterior arm", "rubin two, rotating clockwise": what one says and the other leaves open, as one entry;
 * undefined where they are two things, or say different things.
 */
function joined(open: Call, clear: Call): Entry | undefined {
  const own = single(clear);
  if (!open.ambiguous || clear.problem || !own) return undefined;
  const reading = readingOf(open, own.code);
  if (!reading || (own.phase && reading.phase)) return undefined;
  const agrees = (Object.keys(own) as (keyof Entry)[]).every(
    (slot) => reading[slot] === undefined || reading[slot] === own[slot],
  );
  return agrees ? { ...reading, ...own } : undefined;
}

const asOne = (first: Call, second: Call, entry: Entry): Call => ({
  from: first.from,
  to: second.to,
  strong: first.strong || second.strong,
  ...(first.doubtful || second.doubtful ? { doubtful: true } : {}),
  entries: [entry],
});

/** A call-out said twice in one breath ("head out, head out"; "posterior arm … left arm delivered") counts once. */
function withoutRepeats(calls: Call[]): Call[] {
  const kept: Call[] = [];
  for (const call of calls) {
    const before = kept[kept.length - 1];
    const [own, last] = [single(call), before && single(before)];
    const whole = before && (joined(before, call) ?? joined(call, before));
    if (before && whole) {
      kept[kept.length - 1] = asOne(before, call, whole);
      continue;
    }
    if (before && settles(before, call)) kept.pop();
    else if (before && settles(call, before)) continue;
    if (before && own && last && !call.problem && !before.problem) {
      if (covers(last, own)) continue;
      if (covers(own, last)) kept.pop();
    }
    kept.push(call);
  }
  return kept;
}

function timeOf(times: Sense['times']): { when?: SpokenTime; unclear: boolean } {
  const known = times.filter((time): time is SpokenTime => time !== 'unclear');
  const distinct = new Set(known.map((time) => JSON.stringify(time)));
  const unclear = known.length < times.length || distinct.size > 1;
  return unclear || known.length === 0 ? { unclear } : { when: known[0]!, unclear };
}

/** How far unexplained words make a reading doubtful: none, some (ask), too many (ordinary talk). */
function talk(sense: Sense, calls: Call[]): 'none' | 'some' | 'mostly' {
  if (sense.unknown === 0) return 'none';
  const strong = calls.some((call) => call.strong);
  if (!strong && calls.every((call) => call.problem === 'unclear')) return 'mostly';
  const share = sense.unknown / Math.max(1, sense.content);
  if (strong)
    return sense.unknown <= thresholds.askUnknownMax && share <= thresholds.askUnknownShare
      ? 'some'
      : 'mostly';
  return sense.unknown === 1 && share <= 0.5 ? 'some' : 'mostly';
}

function alternativesOf(calls: Call[]): Alternative[] {
  return calls.flatMap((call, index) =>
    (call.alternatives ?? []).map((entries) => ({
      entries: calls.flatMap((other, place) => (place === index ? entries : other.entries)),
    })),
  );
}

/** Decides what a reading comes to: accept only where nothing is missing, doubtful or unexplained. */
export function judge(sense: Sense): Interpreted {
  const calls = withoutRepeats(sense.calls);
  if (calls.length === 0) return NOTHING;
  markContradictions(calls);
  const noise = talk(sense, calls);
  if (noise === 'mostly') return NOTHING;
  const { when, unclear } = timeOf(sense.times);
  const timed = when ? { when } : {};
  const doubt = (call: Call): boolean => call.problem !== undefined || call.doubtful === true;
  const clear = !calls.some(doubt) && noise === 'none' && !unclear && !sense.loose;
  const entries = calls.flatMap((call) =>
    calls.length > 1 && doubt(call)
      ? call.entries.map((entry): Entry => ({ ...entry, unclear: true }))
      : call.entries,
  );
  if (clear) return { outcome: 'accept', entries, ...timed, confidence: 1 };
  const problem: Problem =
    calls.find((call) => call.problem === 'out-of-range')?.problem ??
    calls.find((call) => call.problem)?.problem ??
    (unclear ? 'time-unclear' : 'unclear');
  const alternatives = alternativesOf(calls);
  return {
    outcome: 'ask',
    entries,
    ...(alternatives.length > 0 ? { alternatives } : {}),
    problem,
    ...timed,
    confidence: 0.5,
  };
}
