/**
 * How far the time of a call-out is from where its speech begins, in quiet and in noise:
 *
 *   npx tsx models/training/measure-onsets.ts --voices SETS/people-prompts --every 3 --seed 7 SETS/call-outs-other
 *
 * The clips of the set (NAME.wav, speech after 0.3 s) are joined with pauses of 1.2 to 4.2 s, each 0 to 6 dB below the
 * loudest; the truth is the first sample over 2 % of the clip's peak. Segments only: nothing is recognised. A minute.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { parseArgs } from 'node:util';
import { SPEECH_RATE } from '../../src/audio/resample.ts';
import { readWav } from '../../src/audio/wav.ts';
import { hearSound } from '../../src/cli/hear-sound.ts';
import { makeNoise, mixAt, type NoiseKind } from '../../src/lab/noise.ts';
import { openModels } from '../../src/lab/open-models.ts';
import { makeRandom } from '../../src/lab/random.ts';
import { joined, silence } from '../../src/lab/say.ts';
import { silentRecogniser } from '../../src/lab/silent.ts';
import { median, quantile } from '../../src/lab/statistics.ts';

const CONDITIONS: [NoiseKind, number][] = [
  ['white', 60],
  ['pink', 20],
  ['pink', 10],
  ['alarm', 10],
  ['babble', 20],
  ['babble', 10],
  ['babble', 5],
];
/** Silence that the sets hold before the speech, less 50 ms, and after it, as samples. */
const [BEFORE, AFTER] = [0.25 * SPEECH_RATE, 0.44 * SPEECH_RATE];
const AUDIBLE = 0.02;

const { positionals, values } = parseArgs({
  allowPositionals: true,
  options: {
    voices: { type: 'string' },
    every: { type: 'string', default: '3' },
    first: { type: 'string', default: '0' },
    seed: { type: 'string', default: '7' },
  },
});
if (!values.voices || positionals.length !== 1)
  throw new Error('Name one set of call-outs, and with --voices the folder whose speech makes the babble.');

const soundsIn = (folder: string): Float32Array[] =>
  readdirSync(folder)
    .filter((name) => name.endsWith('.wav'))
    .sort()
    .map((name) => readWav(readFileSync(join(folder, name))).samples);

const seed = Number(values.seed);
const random = makeRandom(seed);
const parts = [silence(6000)];
const truth: { onsetMs: number; endMs: number }[] = [];
let at = parts[0]!.length;
soundsIn(positionals[0]!)
  .filter((_, k) => k % Number(values.every) === Number(values.first))
  .forEach((whole) => {
    const clip = whole.slice(BEFORE, -AFTER);
    const limit = AUDIBLE * clip.reduce((peak, value) => Math.max(peak, Math.abs(value)), 0);
    const loud = (value: number): boolean => Math.abs(value) > limit;
    const ms = (sample: number): number => ((at + sample) / SPEECH_RATE) * 1000;
    truth.push({ onsetMs: ms(clip.findIndex(loud)), endMs: ms(clip.findLastIndex(loud)) });
    const gain = 0.5 + 0.5 * random();
    const pause = silence(1200 + 3000 * random());
    parts.push(clip.map((value) => value * gain), pause);
    at += clip.length + pause.length;
  });
const speech = joined(parts);
const babble = soundsIn(values.voices).slice(0, 200).map((samples) => samples.subarray(BEFORE));
const models = await openModels();

interface Found {
  errors: number[];
  missing: number;
  cut: number;
}
const line = (name: string, { errors, missing, cut }: Found): string => {
  const ms = (value: number): string => `${Math.round(value)} ms`.padStart(8);
  return (
    `${name.padEnd(14)} ${errors.length + missing} call-outs, not noticed ${missing}, cut in two ${cut}; onset error ` +
    `median ${ms(median(errors))}, 90 % ${ms(quantile(errors, 0.9))}, 95 % ${ms(quantile(errors, 0.95))}`
  );
};
const all: Found = { errors: [], missing: 0, cut: 0 };
for (const [kind, ratioDb] of CONDITIONS) {
  const samples = mixAt(speech, makeNoise(kind, speech.length, seed, babble), ratioDb);
  const { heard } = await hearSound({ ...models, recogniser: silentRecogniser }, { sampleRate: SPEECH_RATE, samples });
  const own = truth.map(({ onsetMs, endMs }) => heard.filter((one) => one.onsetMs < endMs && one.endMs > onsetMs));
  const found: Found = {
    errors: own.flatMap(([first], k) => (first ? [Math.abs(first.onsetMs - truth[k]!.onsetMs)] : [])),
    missing: own.filter((some) => some.length === 0).length,
    cut: own.filter((some) => some.length > 1).length,
  };
  all.errors.push(...found.errors);
  all.missing += found.missing;
  all.cut += found.cut;
  console.log(line(`${kind} ${ratioDb} dB`, found));
}
console.log(line('all', all));
await models.recogniser.release();
