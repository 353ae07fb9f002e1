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

const reading = { text: 'baby out' };
/** Hears the same always, and tells what it was given. */
function recogniser(): { recogniser: Recogniser; got: [samples: number, speechMs: number][] } {
  const got: [number, number][] = [];
  return {
    got,
    recogniser: {
      recognise: async (samples, speechMs) => {
        got.push([samples.length, speechMs]);
        return { tuned: reading, untouched: reading, doubts: [], speechMs };
      },
      release: async () => {},
    },
  };
}

it('hears the sound slower and faster by turns, bound by the true length of the speech', async () => {
  const { recogniser: hears, got } = recogniser();
  const { speeds } = guards.again;
  for (const times of speeds.keys())
    expect(await listenAgain(hears, new Float32Array(9400), 400, times)).toMatchObject({ tuned: reading });
  expect(await listenAgain(hears, new Float32Array(9400), 400, speeds.length)).toBeNull();
  expect(got.slice(0, 2)).toEqual([
    [9999, 400],
    [8867, 400],
  ]);
  expect(got.map(([samples]) => samples > 9400)).toEqual(speeds.map((speed) => speed < 1));
});

it('does not listen where nothing is, or where the end would not fit the window of eight seconds', async () => {
  const { recogniser: hears, got } = recogniser();
  const { mostSamples, speeds } = guards.again;
  expect(mostSamples).toBe(8 * SPEECH_RATE);
  expect(await listenAgain(hears, new Float32Array(0), 0, 0)).toBeNull();
  const longest = new Float32Array(mostSamples * speeds[2]!);
  expect(await listenAgain(hears, longest, 7000, 2)).not.toBeNull();
  const longer = new Float32Array(longest.length + 2);
  expect(await listenAgain(hears, longer, 7000, 2)).toBeNull();
  expect(await listenAgain(hears, longer, 7000, 1)).not.toBeNull();
  expect(got.every(([samples]) => samples <= mostSamples)).toBe(true);
});

it('listens once more to whatever the segmenter gives', () => {
  const { mostSamples, speeds } = guards.again;
  expect(segmenter.longestMs).toBeLessThanOrEqual((mostSamples * speeds[0]! * 1000) / SPEECH_RATE);
});
