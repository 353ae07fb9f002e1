import { expect, test } from 'vitest';
import { RecentSound } from '../../src/audio/recent-sound.ts';

/** Samples count up from the first, so that what is cut says where it was. */
const chunk = (atMs: number, from: number, length: number, sampleRate = 1000) => ({
  atMs,
  sampleRate,
  samples: Float32Array.from({ length }, (_, at) => from + at),
});

test('cuts exactly the wanted milliseconds, over the edges of chunks', () => {
  const recent = new RecentSound();
  recent.push(chunk(0, 0, 100));
  recent.push(chunk(100, 100, 100));
  expect([...recent.cut(95, 105)!.samples]).toEqual([95, 96, 97, 98, 99, 100, 101, 102, 103, 104]);
  expect(recent.cut(150, 500)!.samples).toHaveLength(50);
  expect(recent.cut(200, 300)).toBeNull();
});

test('says where it begins', () => {
  const recent = new RecentSound();
  expect(recent.beginsMs).toBe(Infinity);
  recent.push(chunk(40, 0, 100));
  recent.push(chunk(140, 100, 100));
  expect(recent.beginsMs).toBe(40);
});

test('where the rate changed in between, the later part is given at its own rate', () => {
  const recent = new RecentSound();
  recent.push(chunk(0, 0, 100));
  recent.push(chunk(100, 0, 200, 2000));
  expect(recent.cut(50, 200)).toEqual({ sampleRate: 2000, samples: chunk(0, 0, 200).samples });
});

test('forgets what is older than two minutes', () => {
  const recent = new RecentSound();
  for (let second = 0; second < 300; second++) recent.push(chunk(second * 1000, 0, 1000));
  expect(recent.cut(0, 100_000)).toBeNull();
  expect(recent.beginsMs).toBe(170_000);
  expect(recent.cut(290_000, 300_000)!.samples).toHaveLength(10_000);
});
