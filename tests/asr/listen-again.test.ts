import { expect, it } from 'vitest';
import guards from '../../src/asr/guards.json';
import { atSpeed, listenAgain } from '../../src/asr/listen-again.ts';
import type { Recogniser } from '../../src/asr/recogniser.ts';
import { SPEECH_RATE } from '../../src/audio/resample.ts';
import segmenter from '../../src/audio/segmenter.json';

it('draws the same curve out over more samples', () => {
  const tone = Float32Array.from({ length: 1600 }, (_, k) => Math.sin(0.05 * k));
  const slow = atSpeed(tone, 0.94);
  expect(slow.length).toBe(Math.floor(1599 / 0.94) + 1);
  const farthest = Math.max(...slow.map((value, k) => Math.abs(value - Math.sin(0.05 * 0.94 * k))));
  expect(farthest).toBeLessThan(0.001);
  expect([...atSpeed(tone, 1)]).toEqual([...tone]);
});

it('hears the slower sound, then the faster one, bound by the true length of the speech', async () => {
  const got: [number, number][] = [];
  const reading = { text: 'baby out' };
  const recogniser: Recogniser = {
    recognise: async (samples, speechMs) => {
      got.push([samples.length, speechMs]);
      return { tuned: reading, untouched: reading, doubts: [], speechMs };
    },
    release: async () => {},
  };
  const listen = (times: number) => listenAgain(recogniser, new Float32Array(9400), 400, times);
  expect(await listen(0)).toMatchObject({ tuned: reading });
  expect(await listen(1)).toMatchObject({ tuned: reading });
  expect(await listen(2)).toBeNull();
  expect(got).toEqual([
    [9999, 400],
    [8867, 400],
  ]);
});

it('does not listen where the end would be cut off', async () => {
  const never: Recogniser = {
    recognise: () => Promise.reject(new Error('it listened')),
    release: async () => {},
  };
  const { mostSamples, speeds } = guards.again;
  expect(await listenAgain(never, new Float32Array(mostSamples + 1), 7000, 0)).toBeNull();
  expect(await listenAgain(never, new Float32Array(0), 0, 0)).toBeNull();
  // Whatever is taken fits the window of eight seconds.
  expect(mostSamples / Math.min(...speeds)).toBeLessThanOrEqual(8 * SPEECH_RATE);
  expect(segmenter.longestMs).toBeLessThanOrEqual((mostSamples / SPEECH_RATE) * 1000);
});
