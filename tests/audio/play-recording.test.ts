import { afterEach, beforeEach, expect, it, vi } from 'vitest';
import { playRecording } from '../../src/audio/play-recording.ts';

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

it.each([1, 4])('gives every sample once, in order, at %i times real time', async (speed) => {
  const samples = Float32Array.from({ length: 16000 }, (_, k) => k / 16000);
  const chunks: { atMs: number; samples: Float32Array }[] = [];
  const ended = vi.fn();
  const begun = Date.now();
  playRecording(
    { sampleRate: 16000, samples },
    { speed, startMs: 500, now: () => Date.now(), onChunk: (chunk) => chunks.push(chunk), onEnd: ended },
  );
  await vi.advanceTimersByTimeAsync(1000 / speed - 50);
  expect(ended).not.toHaveBeenCalled();
  await vi.advanceTimersByTimeAsync(100);
  expect(ended).toHaveBeenCalledOnce();
  expect(Date.now() - begun).toBeLessThan(1000 / speed + 100);
  expect(chunks.flatMap((chunk) => [...chunk.samples])).toEqual([...samples]);
  expect(chunks[1]!.atMs).toBe(532);
});

it('stops when told to', async () => {
  const onChunk = vi.fn();
  const playing = playRecording(
    { sampleRate: 16000, samples: new Float32Array(16000) },
    { speed: 1, startMs: 0, now: () => Date.now(), onChunk },
  );
  await vi.advanceTimersByTimeAsync(200);
  playing.stop();
  const before = onChunk.mock.calls.length;
  await vi.advanceTimersByTimeAsync(2000);
  expect(onChunk.mock.calls.length).toBe(before);
});
