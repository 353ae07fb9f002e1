import { describe, expect, it } from 'vitest';
import { makeSegmenter, type SegmentEvent } from '../../src/audio/segmenter.ts';
import data from '../../src/audio/segmenter.json' with { type: 'json' };

const FRAME = 512;
const FRAME_MS = 32;

/** Frames from a plan: [ms, loudness 0…1, probability]. Speech is a tone, the rest faint noise. */
function run(plan: [number, number, number][], baseMs = 0): SegmentEvent[] {
  const segmenter = makeSegmenter(baseMs);
  const events: SegmentEvent[] = [];
  let at = 0;
  for (const [ms, loudness, probability] of plan) {
    for (let left = ms; left > 0; left -= FRAME_MS) {
      const frame = Float32Array.from({ length: FRAME }, (_, k) => {
        const noise = 0.0005 * Math.sin(1.7 * (at + k) ** 1.3);
        return loudness * Math.sin(0.2 * (at + k)) + noise;
      });
      at += FRAME;
      events.push(...segmenter.push(frame, probability));
    }
  }
  return [...events, ...segmenter.flush()];
}

/** Talk farther off, not taken for speech, for 3.2 s. */
const farTalk = (loudness: number): [number, number, number][] =>
  Array.from({ length: 10 }, (_, k) => [320, k % 2 === 0 ? loudness : 0, 0.1]);

const kinds = (events: SegmentEvent[]): string[] => events.map(({ kind }) => kind);
const utterances = (events: SegmentEvent[]) =>
  events.flatMap((event) => (event.kind === 'utterance' ? [event.utterance] : []));

describe('makeSegmenter', () => {
  it('gives one utterance with its onset and end within 40 ms', () => {
    const events = run([
      [1600, 0, 0.02],
      [992, 0.3, 0.95],
      [1600, 0, 0.02],
    ]);
    expect(kinds(events)).toEqual(['start', 'pause', 'utterance']);
    const [utterance] = utterances(events);
    expect(Math.abs(utterance!.onsetMs - 1600)).toBeLessThanOrEqual(40);
    expect(Math.abs(utterance!.endMs - 2592)).toBeLessThanOrEqual(40);
    expect(utterance!.samples.length / 16).toBeGreaterThan(992 + data.preRollMs);
  });

  it('over talk farther off that was taken for speech, its time is that of the louder voice, its sound is whole', () => {
    const plan: [number, number, number][] = [
      ...farTalk(0.02),
      [800, 0.02, 0.9],
      [992, 0.3, 0.95],
      [1600, 0.02, 0.1],
    ];
    const [utterance] = utterances(run(plan));
    // A steady tone is the hardest: nothing in it says where the louder voice began but its level.
    expect(Math.abs(utterance!.onsetMs - 4000)).toBeLessThanOrEqual(200);
    expect(utterance!.fromMs).toBeLessThanOrEqual(3200);
  });

  it('a voice hardly louder than the talk before it begins with its first word, not with its loudest', () => {
    const plan: [number, number, number][] = [
      ...farTalk(0.1),
      [480, 0.14, 0.95],
      [160, 0.165, 0.95],
      [480, 0.14, 0.95],
      [1600, 0, 0.02],
    ];
    const [utterance] = utterances(run(plan));
    expect(Math.abs(utterance!.onsetMs - 3200)).toBeLessThanOrEqual(60);
  });

  it('a soft beginning in a quiet room keeps its time', () => {
    const plan: [number, number, number][] = [
      [3200, 0, 0.02],
      [480, 0.02, 0.9],
      [992, 0.3, 0.95],
      [1600, 0, 0.02],
    ];
    const [utterance] = utterances(run(plan));
    expect(Math.abs(utterance!.onsetMs - 3200)).toBeLessThanOrEqual(60);
  });

  it('counts from the time of its first sample', () => {
    const [utterance] = utterances(
      run(
        [
          [640, 0, 0],
          [640, 0.3, 0.9],
          [800, 0, 0],
        ],
        60_000,
      ),
    );
    expect(Math.abs(utterance!.onsetMs - 60_640)).toBeLessThanOrEqual(40);
  });

  it('recognises at the end exactly what it offered at the pause', () => {
    const events = run([
      [320, 0, 0],
      [640, 0.3, 0.9],
      [800, 0, 0],
    ]);
    const offered = events.find((event) => event.kind === 'pause');
    expect(offered?.utterance).toBe(utterances(events)[0]);
  });

  it('takes back a pause when speech goes on, and cuts nothing in two', () => {
    const events = run([
      [320, 0, 0],
      [640, 0.3, 0.9],
      [320, 0, 0.05],
      [640, 0.3, 0.9],
      [800, 0, 0],
    ]);
    expect(kinds(events)).toEqual(['start', 'pause', 'resume', 'pause', 'utterance']);
    expect(utterances(events)).toHaveLength(1);
  });

  it('makes two utterances of two call-outs with a pause longer than the hang-over', () => {
    const gap = data.hangOverMs + 128;
    const events = run([
      [320, 0, 0],
      [640, 0.3, 0.9],
      [gap, 0, 0],
      [640, 0.3, 0.9],
      [800, 0, 0],
    ]);
    expect(utterances(events).map(({ id }) => id)).toEqual([0, 1]);
  });

  it('names a click a misfire', () => {
    const events = run([
      [320, 0, 0],
      [64, 0.3, 0.9],
      [800, 0, 0],
    ]);
    expect(kinds(events)).toEqual(['start', 'misfire']);
  });

  it('ends an utterance under way when the stream ends', () => {
    expect(
      utterances(
        run([
          [320, 0, 0],
          [640, 0.3, 0.9],
        ]),
      ),
    ).toHaveLength(1);
  });

  it('cuts speech without a pause at its quietest point, loses none and stays within the limit', () => {
    const events = run([
      [6400, 0, 0],
      [5120, 0.3, 0.95],
      [128, 0.02, 0.9],
      [6400, 0.3, 0.95],
      [800, 0, 0],
    ]);
    const parts = utterances(events);
    expect(parts).toHaveLength(2);
    expect(parts[0]!.cut).toBe(true);
    expect(Math.abs(parts[0]!.endMs - (6400 + 5120 + 64))).toBeLessThanOrEqual(96);
    expect(parts[1]!.onsetMs).toBe(parts[0]!.endMs);
    for (const { samples } of parts) expect(samples.length / 16).toBeLessThanOrEqual(data.longestMs);
  });

  it('hears a near voice over talk in the background as its own utterance', () => {
    const events = run([
      [9600, 0.02, 0.9],
      [960, 0.3, 0.95],
      [9600, 0.02, 0.9],
    ]);
    const near = utterances(events).find(({ onsetMs }) => Math.abs(onsetMs - 9600) <= 100);
    expect(near).toBeDefined();
    expect(Math.abs(near!.endMs - 10_560)).toBeLessThanOrEqual(150);
  });

  it('never keeps more sound than an utterance needs', () => {
    const segmenter = makeSegmenter();
    for (let k = 0; k < 2000; k++) segmenter.push(new Float32Array(FRAME), 0);
    expect(segmenter.settledMs()).toBe(2000 * FRAME_MS);
  });
});
