/**
 * Scores what hear-streams.ts heard, by the rules as they are now: every model, condition and voice, the worst first.
 *
 *   npx tsx models/training/score-streams.ts HEARD.jsonl… [--out models/reports/streams.txt] [--wrong] [--unseen]
 *
 * A call-out is right where all that it says was logged, with its time, and nothing else; wrong where anything else was
 * logged; asked where a question was made of it and nothing wrong was logged; otherwise missed. Utterances go through the
 * record as in the app (a question open, what was tried). Sets without entries count words (tuned reading, exact) and
 * what was logged although nothing was called. Seconds; no model runs. Of several models only the streams that all heard
 * are counted; of two, the call-outs in which they differ are told with an exact binomial p.
 */
import { randomUUID } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import type { Entry } from '../../src/core/entry.ts';
import type { Heard, SpokenTime } from '../../src/core/interpret/interpretation.ts';
import { sealEvents } from '../../src/core/log/chain.ts';
import { foldRecord } from '../../src/core/log/fold.ts';
import { createRecordFile } from '../../src/core/log/new-record.ts';
import { takeIn } from '../../src/core/dialogue/take-in.ts';
import { loadVocabulary } from '../../src/packs/vocabulary.ts';

interface Spoken {
  text: string;
  fromMs: number;
  toMs: number;
  entries?: Entry[];
  when?: SpokenTime;
}
interface Utterance {
  onsetMs: number;
  endMs: number;
  heard: Heard;
  again: Heard[];
}
interface Stream {
  model: string;
  name: string;
  set: string;
  voice: string;
  condition: string;
  audioMs: number;
  spoken: Spoken[];
  utterances: Utterance[];
}
type Fate = 'right' | 'asked' | 'wrong' | 'missed';
interface Result {
  fate: Fate;
  exact: boolean;
  said: Spoken;
  heard: string;
  logged: string;
}

/** Seen by earlier choices: told, but not counted as unseen. */
const SEEN = /^(joe|espeak)/;
/** An utterance belongs to the call-out that it overlaps most, ends widened by this, ms. */
const SLACK_MS = 300;

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: { out: { type: 'string' }, wrong: { type: 'boolean' }, title: { type: 'string', default: '' } },
});
const vocabulary = loadVocabulary();
const streams = positionals.flatMap((file) =>
  readFileSync(file, 'utf8')
    .split('\n')
    .filter((line) => line.endsWith('}'))
    .map((line) => JSON.parse(line) as Stream),
);
const models = [...new Set(streams.map(({ model }) => model))];
const counts = new Map<string, Set<string>>();
for (const { name, model } of streams) counts.set(name, (counts.get(name) ?? new Set()).add(model));
const shared = streams.filter(({ name }) => counts.get(name)!.size === models.length);

const keyOf = (entry: Entry, when: SpokenTime | undefined): string => {
  const slots = Object.entries(entry).filter(([slot]) => slot !== 'spoken' && slot !== 'unclear');
  return JSON.stringify([slots.sort(), when ?? null]);
};
const plain = (text: string): string =>
  text
    .toLowerCase()
    .replace(/[^a-z' ]+/g, ' ')
    .replace(/\s+/g, ' ')
    .trim();

/** What the record holds of each call-out, and what was logged where nothing was called. */
function follow(stream: Stream): { results: Result[]; surplus: number } {
  const record = createRecordFile({
    recordId: randomUUID(),
    mode: 'real',
    wallMs: 0,
    createdAt: new Date(0).toISOString(),
    timeZone: 'UTC',
  });
  const logged = stream.spoken.map(() => [] as string[]);
  const asked = stream.spoken.map(() => false);
  const heard = stream.spoken.map(() => [] as string[]);
  let surplus = 0;
  for (const utterance of stream.utterances) {
    const overlaps = stream.spoken.map(
      ({ fromMs, toMs }) =>
        Math.min(utterance.endMs, toMs + SLACK_MS) - Math.max(utterance.onsetMs, fromMs - SLACK_MS),
    );
    const best = Math.max(...overlaps);
    const at = best > 0 ? overlaps.indexOf(best) : -1;
    const { bodies, meaning } = takeIn(utterance, foldRecord(record), vocabulary, randomUUID);
    const madeAt = new Date(utterance.endMs).toISOString();
    const made = { by: { kind: 'voice' }, madeAtMs: utterance.endMs, madeAt } as const;
    record.events.push(...sealEvents(record.events.at(-1) ?? null, bodies, made));
    if (at >= 0) heard[at]!.push(`${utterance.heard.tuned.text} [${utterance.heard.untouched?.text ?? ''}]`);
    if (meaning.outcome === 'accept') {
      if (at < 0) surplus += meaning.entries.length;
      else logged[at]!.push(...meaning.entries.map((entry) => keyOf(entry, meaning.when)));
    } else if (meaning.outcome === 'ask' && at >= 0) asked[at] = true;
  }
  const results = stream.spoken.map((said, at): Result => {
    const wanted = (said.entries ?? []).map((entry) => keyOf(entry, said.when)).sort();
    const got = [...new Set(logged[at])].sort();
    const wrong = got.some((key) => !wanted.includes(key));
    const fate: Fate = wrong
      ? 'wrong'
      : wanted.length > 0 && wanted.every((key) => got.includes(key))
        ? 'right'
        : asked[at]
          ? 'asked'
          : 'missed';
    const words = heard[at]!.map((line) => plain(line.split(' [')[0]!)).join(' ');
    return { fate, exact: words === plain(said.text), said, heard: heard[at]!.join(' / '), logged: got.join(' ') };
  });
  return { results, surplus };
}

/** 95 % Wilson interval of a share, in per cent. */
function interval(count: number, of: number): string {
  if (of === 0) return '–';
  const [p, z] = [count / of, 1.96];
  const middle = (p + (z * z) / (2 * of)) / (1 + (z * z) / of);
  const half = (z / (1 + (z * z) / of)) * Math.sqrt((p * (1 - p)) / of + (z * z) / (4 * of * of));
  return `${(100 * p).toFixed(1)} (${(100 * Math.max(0, middle - half)).toFixed(1)}–${(100 * (middle + half)).toFixed(1)})`;
}

/** Two-sided exact binomial p of `a` against `b` differing call-outs. */
function sign(a: number, b: number): number {
  const n = a + b;
  let [sum, one] = [0, Math.pow(0.5, n)];
  for (let k = 0; k <= Math.min(a, b); k++) {
    sum += one;
    one = (one * (n - k)) / (k + 1);
  }
  return Math.min(1, 2 * sum);
}

const text: string[] = [
  `The whole path on streams, ${values.title || 'as measured'}. Call-outs right / asked / wrong / missed, with 95 % intervals.`,
];
const fates = new Map<string, Map<string, Result>>();
const told: string[] = [];
for (const condition of [...new Set(shared.map(({ set, condition: kind }) => `${set}, ${kind}`))].sort()) {
  text.push('', condition);
  for (const model of models) {
    const perVoice = new Map<string, Result[]>();
    let [surplus, audioMs] = [0, 0];
    for (const stream of shared.filter(
      (one) => one.model === model && `${one.set}, ${one.condition}` === condition,
    )) {
      const followed = follow(stream);
      surplus += followed.surplus;
      audioMs += stream.audioMs;
      perVoice.set(stream.voice, [...(perVoice.get(stream.voice) ?? []), ...followed.results]);
      followed.results.forEach((result, k) => {
        const key = `${stream.name} ${k}`;
        fates.set(key, (fates.get(key) ?? new Map()).set(model, result));
        if (values.wrong && result.fate === 'wrong' && result.said.entries?.length)
          told.push(`${model} ${stream.voice} ${stream.condition}: "${result.said.text}" → ${result.heard} → ${result.logged}`);
      });
    }
    const line = (name: string, results: readonly Result[]): string => {
      const stated = results.filter(({ said }) => said.entries !== undefined && said.entries.length > 0);
      const of = (fate: Fate): number => stated.filter((one) => one.fate === fate).length;
      const parts =
        stated.length > 0
          ? `right ${interval(of('right'), stated.length)} %, asked ${of('asked')}, wrong ${of('wrong')}, missed ${of('missed')} of ${stated.length}`
          : `words exact ${interval(results.filter((one) => one.exact).length, results.length)} % of ${results.length}, logged of them ${results.filter((one) => one.fate === 'wrong').length}`;
      return `    ${name.padEnd(18)} ${parts}`;
    };
    const voices = [...perVoice].map(([name, results]) => ({ name, results, seen: SEEN.test(name) }));
    const share = ({ results }: { results: Result[] }): number =>
      results.filter(({ fate, exact, said }) => (said.entries?.length ? fate === 'right' : exact)).length / results.length;
    voices.sort((a, b) => share(a) - share(b));
    const unseen = voices.filter(({ seen }) => !seen).flatMap(({ results }) => results);
    text.push(`  ${model} (logged where nobody called: ${surplus} in ${(audioMs / 60000).toFixed(1)} min)`);
    text.push(line('all unseen', unseen), ...voices.map(({ name, results, seen }) => line(seen ? `${name} (seen)` : name, results)));
  }
  if (models.length === 2) {
    const pairs = [...fates].filter(([key]) => {
      const [set, , kind] = key.split('.');
      return `${set}, ${kind}` === condition;
    });
    const good = (result: Result): boolean => (result.said.entries?.length ? result.fate === 'right' : result.exact);
    const only = (one: string, other: string): number =>
      pairs.filter(([, by]) => good(by.get(one)!) && !good(by.get(other)!)).length;
    const [a, b] = [only(models[0]!, models[1]!), only(models[1]!, models[0]!)];
    text.push(`  right by ${models[0]} alone ${a}, by ${models[1]} alone ${b}: p ${sign(a, b).toFixed(3)}`);
  }
}
if (told.length > 0) text.push('', 'Wrong:', ...told);
process.stdout.write(`${text.join('\n')}\n`);
if (values.out) writeFileSync(values.out, `${text.join('\n')}\n`);
