import { expect, it } from 'vitest';
import lengths from '../../src/asr/fill-window.json';
import { filledWindow } from '../../src/asr/fill-window.ts';
import { SPEECH_RATE } from '../../src/audio/resample.ts';
import segmenter from '../../src/audio/segmenter.json';

const ms = SPEECH_RATE / 1000;
const WINDOW = 8000 * ms;
const [FIRST, LAST] = [lengths.firstMs * ms, lengths.lastMs * ms];

/** The same value all along a stretch of ms: easy to find again. */
const stretch = (value: number, lengthMs: number): number[] =>
  Array.from({ length: lengthMs * ms }, () => value);
const utterance = (first: number, speech: number, last: number): Float32Array =>
  Float32Array.from([
    ...stretch(first, lengths.firstMs),
    ...stretch(speech, 600),
    ...stretch(last, lengths.lastMs),
  ]);

it('keeps the utterance and goes on with its last and its first moments to the end of the window', () => {
  const said = utterance(0.01, 0.5, 0.015);
  const filled = filledWindow(said, WINDOW);
  expect(filled.length).toBe(WINDOW);
  expect(filled.slice(0, said.length)).toEqual(said);
  const rest = [...filled.slice(said.length)];
  expect(new Set(rest)).toEqual(new Set([Math.fround(0.015), Math.fround(0.01)]));
  expect(rest.slice(0, 2 * (FIRST + LAST))).toEqual([
    ...Array<number>(2 * LAST).fill(Math.fround(0.015)),
    ...Array<number>(2 * FIRST).fill(Math.fround(0.01)),
  ]);
});

it('goes on without a jump, and repeats', () => {
  const wave = Float32Array.from({ length: FIRST + LAST + 4000 }, (_, k) => 0.1 * Math.sin(0.01 * k));
  const filled = filledWindow(wave, WINDOW);
  expect(filled[wave.length]).toBe(wave.at(-1));
  const period = 2 * (FIRST + LAST);
  for (const at of [0, 1, LAST, FIRST + LAST, period - 1])
    expect(filled[wave.length + at + period]).toBe(filled[wave.length + at]);
});

it.each([
  ['cut in the middle of speech: its end is speech', utterance(0.01, 0.5, 0.5), 0.01],
  ['going on from one that was cut: its beginning is speech', utterance(0.5, 0.5, 0.01), 0.01],
])('leaves out speech: %s', (_what, said, room) => {
  const rest = filledWindow(said, WINDOW).subarray(said.length);
  expect(new Set(rest)).toEqual(new Set([Math.fround(room)]));
});

it('is silent after silence, and takes what is short, empty or too long', () => {
  expect(filledWindow(new Float32Array(0), WINDOW)).toEqual(new Float32Array(WINDOW));
  expect(filledWindow(new Float32Array(1000), WINDOW)).toEqual(new Float32Array(WINDOW));
  expect(filledWindow(Float32Array.of(0.1, 0.2), 5)).toEqual(Float32Array.of(0.1, 0.2, 0.2, 0.1, 0.1));
  expect(filledWindow(Float32Array.from([1, 2, 3, 4]), 3)).toEqual(Float32Array.of(1, 2, 3));
});

it('takes no more of an utterance than the segmenter keeps before and after the speech', () => {
  expect(lengths.firstMs).toBeLessThanOrEqual(segmenter.preRollMs);
  expect(lengths.lastMs).toBeLessThanOrEqual(segmenter.tailMs);
});
