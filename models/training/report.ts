/**
 * Word errors and entries of every model on every set that was read, side by side, with 95 % intervals:
 *
 *   npx tsx models/training/report.ts --out models/reports/speech READINGS.jsonl…
 *
 * Writes OUT.txt and OUT.json. Of each condition only clips are counted that every model has read that was given it, so
 * that all are measured on the same. Seconds; the intervals of word errors come from 500 resamplings of the clips with a fixed seed.
 */
import { writeFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { score } from '../../src/cli/score.ts';
import { readLines, trialOf, wordErrors, type ReadingLine, type Way } from './readings.ts';

const { positionals, values } = parseArgs({ allowPositionals: true, options: { out: { type: 'string' } } });
if (!values.out) throw new Error('Name the report: --out models/reports/speech');

const lines = readLines(positionals);
const models = [...new Set(lines.map(({ model }) => model))];
const condition = ({ set, kind, snr }: ReadingLine): string => `${set}, ${kind}${snr === null ? '' : ` ${snr} dB`}`;
const clip = (line: ReadingLine): string => `${condition(line)} ${line.name}`;
const readBy = new Map<string, Set<string>>();
for (const line of lines)
  for (const what of [clip(line), condition(line)])
    readBy.set(what, (readBy.get(what) ?? new Set()).add(line.model));
const shared = lines.filter((line) => readBy.get(clip(line))!.size === readBy.get(condition(line))!.size);

/** A small generator with a seed, for resampling alone (mulberry32). */
function random(seed: number): () => number {
  let state = seed;
  return () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

function wordErrorRate(clips: readonly ReadingLine[]): { rate: number; low: number; high: number; exact: number } {
  const counted = clips.filter(({ said }) => said !== '').map(wordErrors);
  const rate = (list: typeof counted): number =>
    list.reduce((sum, { wrong }) => sum + wrong, 0) / list.reduce((sum, { said }) => sum + said, 0);
  const draw = random(1);
  const rates = Array.from({ length: 500 }, () =>
    rate(counted.map(() => counted[Math.floor(draw() * counted.length)]!)),
  ).sort((a, b) => a - b);
  const exact = counted.filter(({ wrong }) => wrong === 0).length / counted.length;
  return { rate: rate(counted), low: rates[12]!, high: rates[487]!, exact };
}

const rows: object[] = [];
const text: string[] = [
  'Words and entries of the speech models, measured on the same clips.',
  'Right, asked, wrong, missed: share of the entries spoken, with 95 % Wilson intervals. False an hour: Poisson.',
  'Clips go to the recogniser whole; live segmentation is measured elsewhere.',
];
const percent = (x: number): string => (Number.isFinite(x) ? (100 * x).toFixed(1) : '–');
const WAYS: Way[] = ['two readings', 'as texts', 'tuned alone', 'exact words'];
for (const name of [...new Set(shared.map(condition))]) {
  text.push('', name);
  for (const model of models.filter((one) => readBy.get(name)!.has(one))) {
    const clips = shared.filter((line) => line.model === model && condition(line) === name);
    const words = wordErrorRate(clips);
    text.push(
      `  ${model}: ${clips.length} clips; word errors ${percent(words.rate)} % (${percent(words.low)} to ${percent(words.high)}), exact ${percent(words.exact)} %`,
    );
    const stated = clips.filter(({ expected }) => expected !== null);
    for (const way of WAYS.filter((one) => one !== 'exact words' || model === models[0])) {
      const result = score(stated.map((line) => trialOf(line, way)));
      const { right, asked, wrong, missed, falseEntries: rare } = result;
      rows.push({ condition: name, ...clips[0], heard: undefined, again: undefined, expected: undefined, said: undefined,
        name: undefined,
        model, way, clips: clips.length, words, entries: { ...result, confusion: result.confusion.slice(0, 30) } });
      const part = (s: typeof right): string => `${percent(s.share)} (${percent(s.low)}–${percent(s.high)})`;
      if (right.of > 0)
        text.push(
          `    ${way.padEnd(13)} of ${right.of} entries: right ${part(right)}  asked ${part(asked)}  wrong ${part(wrong)}  missed ${part(missed)}  surplus ${result.surplus}`,
        );
      if (rare.hours > 0)
        text.push(
          `    ${way.padEnd(13)} false entries an hour ${rare.perHour.toFixed(1)} (${rare.low.toFixed(1)}–${rare.high.toFixed(1)}), ${rare.count} in ${(60 * rare.hours).toFixed(1)} min`,
        );
    }
  }
}
writeFileSync(`${values.out}.txt`, `${text.join('\n')}\n`);
writeFileSync(`${values.out}.json`, `${JSON.stringify({ models, rows }, null, 1)}\n`);
process.stdout.write(`${text.join('\n')}\n`);
