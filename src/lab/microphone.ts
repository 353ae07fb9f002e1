import { SPEECH_RATE } from '../audio/resample.ts';
import { openLabBrowser } from './browser.ts';
import calls from './call-outs.json' with { type: 'json' };
import { makeNoise, mixAt } from './noise.ts';
import type { Lab } from './page.ts';
import { needVoices } from './say.ts';
import { makeScene } from './scene.ts';

/**
 * npm run microphone — the browser's own processing of the microphone, measured: call-outs in noise through a fake
 * microphone in a real Chromium, with echo cancellation, noise suppression and gain control on or off. Counts the
 * call-outs whose words came out exactly. Takes a few minutes at real time; src/audio/capture-options.json holds
 * the defaults that come from it.
 */
declare const lab: Lab;
const off = { echoCancellation: false, noiseSuppression: false, autoGainControl: false };
const SETTINGS = [
  { name: 'all off', wishes: off },
  { name: 'gain control', wishes: { ...off, autoGainControl: true } },
  { name: 'noise suppression', wishes: { ...off, noiseSuppression: true } },
  { name: 'echo cancellation', wishes: { ...off, echoCancellation: true } },
  { name: 'all on', wishes: { echoCancellation: true, noiseSuppression: true, autoGainControl: true } },
];
/** A voice near the microphone, and one far from it at a twentieth of full scale. */
const LEVELS = [
  { name: 'near, pink noise 20 dB', ratioDb: 20, peak: 0.5 },
  { name: 'far, pink noise 15 dB', ratioDb: 15, peak: 0.05 },
];

needVoices();
const texts = calls.callOuts.map(({ text }) => text);
const scene = makeScene(texts, 31, [900, 1400]);
const noise = makeNoise('pink', scene.samples.length, 2);
const durationMs = (scene.samples.length / SPEECH_RATE) * 1000 + 2500;
console.log('| sound | setting | found | exact |\n|---|---|---|---|');
for (const { name: sound, ratioDb, peak } of LEVELS) {
  const samples = mixAt(scene.samples, noise, ratioDb, undefined, peak);
  for (const { name, wishes } of SETTINGS) {
    // A browser of its own: the fake microphone plays its file once.
    const browser = await openLabBrowser({ microphone: { sampleRate: SPEECH_RATE, samples } });
    try {
      const opened = await browser.page.evaluate(() => lab.open());
      if (opened.kind !== 'ready') throw new Error(JSON.stringify(opened));
      const run = await browser.page.evaluate(([ms, asked]) => lab.listen(ms, asked), [
        durationMs,
        wishes,
      ] as const);
      const heard = run.heard.map(({ text }) => text);
      const exact = texts.filter((text) => heard.includes(text)).length;
      console.log(`| ${sound} | ${name} | ${heard.length} of ${texts.length} | ${exact} |`);
      if (run.states.includes('gap')) console.log('The machine was too busy: sound was lost. Run it again.');
    } finally {
      await browser.close();
    }
  }
}
