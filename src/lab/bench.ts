import { cpus } from 'node:os';
import { median, quantile } from './statistics.ts';
import { openLabBrowser } from './browser.ts';
import calls from './call-outs.json' with { type: 'json' };
import { openModels } from './open-models.ts';
import type { Heard, Lab } from './page.ts';
import { makeScene } from './scene.ts';
import { needVoices } from './say.ts';
import { hearSound } from '../cli/hear-sound.ts';
import { SPEECH_RATE } from '../audio/resample.ts';

/**
 * npm run bench — how long from the end of speech to its words, in Node and in a real Chromium, one thread.
 * A benchmark, not a test: what else the machine does shows in the numbers.
 */
declare const lab: Lab;
const ms = (value: number): string => `${Math.round(value)} ms`;
const mb = (bytes: number): string => `${(bytes / 1e6).toFixed(1)} MB`;

needVoices();
const scene = makeScene(
  calls.callOuts.map(({ text }) => text),
  11,
);
const sound = { sampleRate: SPEECH_RATE, samples: scene.samples };
console.log(
  `${scene.spoken.length} call-outs, ${(scene.samples.length / SPEECH_RATE).toFixed(0)} s, on ${cpus().length} × ${cpus()[0]?.model ?? 'unknown processor'}\n`,
);

const begun = performance.now();
const models = await openModels();
const loadMs = performance.now() - begun;
const cpuBefore = process.cpuUsage();
const inNode = await hearSound(models, sound);
const { user, system } = process.cpuUsage(cpuBefore);
const nodeCpuMs = (user + system) / 1000 / inNode.heard.length;
const nodeCompute = inNode.heard.map((one) => one.computeMs);
console.log('Node, one thread');
console.log(`  model load               ${ms(loadMs)}`);
console.log(`  recognition, median/p95  ${ms(median(nodeCompute))} / ${ms(quantile(nodeCompute, 0.95))}`);
console.log(`  processor time           ${ms(nodeCpuMs)} an utterance, listening included`);
console.log(`  whole recording          ${(inNode.audioMs / inNode.computeMs).toFixed(1)} × real time\n`);

const browser = await openLabBrowser({ microphone: sound });
try {
  const { page } = browser;
  const opened = await page.evaluate(() => lab.open());
  if (opened.kind !== 'ready') throw new Error(JSON.stringify(opened));
  const report = (title: string, run: Heard): void => {
    const latency = run.heard.map((one) => one.latencyMs);
    const compute = run.heard.map((one) => one.computeMs);
    const early = run.heard.filter((one) => one.early).length;
    console.log(title);
    console.log(
      `  utterances               ${run.heard.length} of ${scene.spoken.length}, ${run.unheard.length} unheard`,
    );
    console.log(
      `  end of speech → words    ${ms(median(latency))} median, ${ms(quantile(latency, 0.95))} p95`,
    );
    console.log(
      `  recognition              ${ms(median(compute))} median, ${ms(quantile(compute, 0.95))} p95`,
    );
    console.log(`  done before hang-over    ${early} of ${run.heard.length}`);
    console.log(
      `  longest main-thread task ${run.longestTaskMs > 0 ? ms(run.longestTaskMs) : 'none over 50 ms'}\n`,
    );
  };
  console.log('Chromium, one thread');
  console.log(`  model load               ${ms(opened.loadMs)}`);
  console.log(`  fetched                  ${mb(browser.fetchedBytes())} (page, runtime, models)\n`);
  const url = browser.offer('scene.wav', sound);
  const processorBefore = await browser.processorSeconds();
  const played = await page.evaluate((address) => lab.play(address), url);
  const processorMs = ((await browser.processorSeconds()) - processorBefore) * 1000;
  report('Chromium, recording', played);
  console.log(
    `  processor time           ${ms(processorMs / played.heard.length)} an utterance, ${ms(processorMs / (scene.samples.length / SPEECH_RATE))} a second of sound, listening included\n`,
  );
  const listenMs = (scene.samples.length / SPEECH_RATE) * 1000 + 2000;
  const spoken = await page.evaluate((duration) => lab.listen(duration), listenMs);
  report(`Chromium, fake microphone (${[...new Set(spoken.states)].join(', ')})`, spoken);
  console.log(`  memory of the tab        ${Math.round((await browser.residentMb()) ?? NaN)} MB resident`);
} finally {
  await browser.close();
}
