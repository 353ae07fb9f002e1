import { parseArgs } from 'node:util';
import { SPEECH_RATE } from '../audio/resample.ts';
import { openLabBrowser } from './browser.ts';
import calls from './call-outs.json' with { type: 'json' };
import { makeNoise, mixAt } from './noise.ts';
import type { Lab } from './page.ts';
import { needVoices } from './say.ts';
import { makeScene } from './scene.ts';
import { median } from './statistics.ts';

/**
 * npm run soak [-- --minutes 60] — mixed sound for an hour through the browser path in a real Chromium, as fast as
 * it is worked off, with what is unsure listened to again: is memory bounded, is the onset as exact at the end as at
 * the start, is no call-out lost?
 * Ends with exit code 1 where a limit is passed.
 */
declare const lab: Lab;
const LIMITS = { memoryMb: 450, driftMs: 20 };

const { values } = parseArgs({ options: { minutes: { type: 'string', default: '60' } } });
needVoices();
const texts = calls.callOuts.map(({ text }) => text);
const mixed = texts.flatMap((text, k) => (k % 4 === 3 ? [text, calls.talk[k % calls.talk.length]!] : [text]));
const scene = makeScene(mixed, 23, [900, 4000]);
const noise = makeNoise('pink', scene.samples.length, 5);
const samples = mixAt(scene.samples, noise, 25);
const roundMinutes = samples.length / SPEECH_RATE / 60;
const rounds = Math.ceil(Number(values.minutes) / roundMinutes);
console.log(
  `${rounds} rounds of ${roundMinutes.toFixed(1)} minutes with ${scene.spoken.length} utterances, pink noise at 25 dB\n`,
);
console.log('round   heard   lost  unheard   again  onset error  speed        memory');

const browser = await openLabBrowser();
const onsets: number[] = [];
const memory: number[] = [];
let lost = 0;
let unheard = 0;
let again = 0;
try {
  const { page } = browser;
  const opened = await page.evaluate(() => lab.open());
  if (opened.kind !== 'ready') throw new Error(JSON.stringify(opened));
  const url = browser.offer('soak.wav', { sampleRate: SPEECH_RATE, samples });
  for (let round = 0, atMs = 0; round < rounds; round++) {
    const begun = performance.now();
    const run = await page.evaluate(([address, from]) => lab.round(address, from), [url, atMs] as const);
    atMs = run.endedMs;
    const errors: number[] = [];
    let missing = 0;
    for (const { onsetMs, endMs } of scene.spoken) {
      const found = run.heard.find((one) => one.onsetMs < endMs && one.endMs > onsetMs);
      if (found) errors.push(Math.abs(found.onsetMs - onsetMs));
      else missing++;
    }
    lost += missing;
    unheard += run.unheard.length;
    const timesAgain = run.heard.reduce((sum, one) => sum + one.timesAgain, 0);
    again += timesAgain;
    onsets.push(median(errors));
    memory.push((await browser.residentMb()) ?? NaN);
    const speed = (roundMinutes * 60_000) / (performance.now() - begun);
    console.log(
      [
        String(round + 1).padStart(5),
        String(run.heard.length).padStart(8),
        String(missing).padStart(7),
        String(run.unheard.length).padStart(9),
        String(timesAgain).padStart(7),
        `${Math.round(onsets.at(-1)!)} ms`.padStart(14),
        `${speed.toFixed(1)} × real time`.padStart(18),
        `${Math.round(memory.at(-1)!)} MB`.padStart(9),
      ].join(''),
    );
  }
} finally {
  await browser.close();
}
const driftMs = Math.abs(onsets.at(-1)! - onsets[0]!);
const most = Math.max(...memory);
const passed = lost === 0 && unheard === 0 && driftMs <= LIMITS.driftMs && !(most > LIMITS.memoryMb);
console.log(
  `\nLost ${lost}, unheard ${unheard}, listened to again ${again} times, drift ${Math.round(driftMs)} ms (limit ${LIMITS.driftMs}), memory at most ${Math.round(most)} MB (limit ${LIMITS.memoryMb})`,
);
process.exitCode = passed ? 0 : 1;
