import { describe, expect, it } from 'vitest';
import guards from '../../src/asr/guards.json';
import { Listener, type ListenerEvent } from '../../src/asr/listener.ts';
import type { Recogniser } from '../../src/asr/recogniser.ts';

/** Stands for both models: a frame is speech where it is loud; a clip is "heard" by its length. */
const newSpeechProbability = () => async (frame: Float32Array) =>
  frame.some((value) => Math.abs(value) > 0.1) ? 0.95 : 0.02;

function listen(options: { early?: boolean; steps?: number; onStep?: () => void } = {}) {
  const events: ListenerEvent[] = [];
  let begun = 0;
  let voided = 0;
  const recogniser: Recogniser = {
    async recognise(samples, speechMs, goOn = async () => true) {
      begun++;
      for (let step = 0; step < (options.steps ?? 1); step++) {
        options.onStep?.();
        if (!(await goOn())) {
          voided++;
          return null;
        }
      }
      const reading = { text: `${samples.length}`, logProbabilities: [0] };
      return { tuned: reading, untouched: reading, doubts: [], speechMs };
    },
    release: async () => {},
  };
  const listener = new Listener({
    recogniser,
    newSpeechProbability,
    breathe: async () => {},
    early: options.early ?? false,
    tell: (event) => events.push(event),
  });
  const heard = () => events.flatMap((event) => (event.kind === 'heard' ? [event] : []));
  return { listener, events, heard, counts: () => ({ begun, voided }) };
}

/** Lets everything that was pushed be worked off. */
const settle = (): Promise<void> => new Promise((resolve) => setTimeout(resolve, 60));

/** ms of speech or silence at 16 kHz, from `atMs` on, in blocks of 32 ms. */
function feed(
  listener: Listener,
  atMs: number,
  plan: ['speech' | 'silence', number][],
  sampleRate = 16000,
): number {
  for (const [what, ms] of plan) {
    for (let left = ms; left > 0; left -= 32) {
      const samples = Float32Array.from({ length: (sampleRate * 32) / 1000 }, (_, k) =>
        what === 'speech' ? 0.5 * Math.sin((0.3 * k * 16000) / sampleRate) : 0.0001 * Math.sin(k * k),
      );
      listener.push({ atMs, sampleRate, samples });
      atMs += 32;
    }
  }
  return atMs;
}

it('tells each utterance with its times on the clock of the sound', async () => {
  const { listener, heard, events } = listen();
  feed(listener, 10_000, [
    ['silence', 640],
    ['speech', 640],
    ['silence', 960],
    ['speech', 960],
    ['silence', 960],
  ]);
  await listener.flush();
  expect(heard()).toHaveLength(2);
  expect(Math.abs(heard()[0]!.onsetMs - 10_640)).toBeLessThanOrEqual(40);
  expect(Math.abs(heard()[1]!.onsetMs - 12_240)).toBeLessThanOrEqual(40);
  expect(events.findLast((event) => event.kind === 'pending')).toMatchObject({ utterances: 0 });
});

it('hears the same whether recognition begins early or late, and from any rate', async () => {
  const texts: string[][] = [];
  for (const [early, rate] of [
    [false, 16000],
    [true, 16000],
    [true, 48000],
  ] as const) {
    const { listener, heard, counts } = listen({ early });
    const paused = feed(
      listener,
      0,
      [
        ['silence', 640],
        ['speech', 640],
        ['silence', 320],
      ],
      rate,
    );
    await settle();
    feed(
      listener,
      paused,
      [
        ['speech', 640],
        ['silence', 960],
      ],
      rate,
    );
    await listener.flush();
    texts.push(heard().map(({ heard }) => heard.tuned.text));
    // Early: once at the pause that was none, once at the end.
    expect(counts().begun).toBe(early ? 2 : 1);
  }
  expect(texts[1]).toEqual(texts[0]);
  expect(texts[2]).toHaveLength(1);
});

it('gives up an early reading when the speaker goes on', async () => {
  let paused = 0;
  let spoken = false;
  const { listener, heard, counts } = listen({
    early: true,
    steps: 3,
    onStep: () => {
      if (spoken) return;
      spoken = true;
      feed(listener, paused, [
        ['speech', 640],
        ['silence', 960],
      ]);
    },
  });
  paused = feed(listener, 0, [
    ['silence', 640],
    ['speech', 640],
    ['silence', 256],
  ]);
  await settle();
  await listener.flush();
  expect(counts().voided).toBe(1);
  expect(heard()).toHaveLength(1);
  expect(heard()[0]!.endMs - heard()[0]!.onsetMs).toBeGreaterThan(1400);
});

it('ends an utterance at a gap in the sound and goes on after it at the right time', async () => {
  const { listener, heard } = listen();
  feed(listener, 0, [
    ['silence', 640],
    ['speech', 640],
  ]);
  feed(listener, 9_000, [
    ['silence', 640],
    ['speech', 640],
    ['silence', 960],
  ]);
  await listener.flush();
  expect(heard()).toHaveLength(2);
  expect(Math.abs(heard()[1]!.onsetMs - 9_640)).toBeLessThanOrEqual(40);
});

it('needs sound until its utterance is told, and nothing after', async () => {
  const { listener } = listen();
  expect(listener.settledMs()).toBeNull();
  const end = feed(listener, 0, [
    ['silence', 640],
    ['speech', 640],
    ['silence', 960],
  ]);
  expect(listener.settledMs()).toBe(0);
  await listener.flush();
  listener.push({ atMs: end, sampleRate: 16000, samples: new Float32Array(512) });
  await listener.flush();
  expect(listener.settledMs() ?? end).toBeGreaterThanOrEqual(end);
});

it('skips what it is told to skip', async () => {
  const { listener, heard } = listen();
  feed(listener, 0, [
    ['silence', 640],
    ['speech', 640],
    ['silence', 960],
    ['speech', 640],
    ['silence', 960],
  ]);
  listener.skip(2000);
  await listener.flush();
  expect(heard()).toHaveLength(1);
  expect(heard()[0]!.onsetMs).toBeGreaterThanOrEqual(2000);
});

it('tells nothing of sound that it was to forget, and hears what comes after', async () => {
  const { listener, events, heard } = listen();
  const at = feed(listener, 0, [
    ['silence', 500],
    ['speech', 1000],
  ]);
  await listener.forget();
  const before = events.length;
  await settle();
  expect(events).toHaveLength(before);
  expect(listener.settledMs()).toBeNull();
  feed(listener, at + 5000, [
    ['silence', 500],
    ['speech', 800],
    ['silence', 1500],
  ]);
  await listener.flush();
  expect(heard()).toHaveLength(1);
  expect(heard()[0]!.onsetMs).toBeGreaterThan(at + 5000);
});

describe('listening again', () => {
  const CALL: ['speech' | 'silence', number][] = [
    ['silence', 640],
    ['speech', 640],
    ['silence', 960],
  ];

  it('hears the same sound slower and faster, and is counted as waiting meanwhile', async () => {
    const { listener, heard, events } = listen();
    feed(listener, 0, CALL);
    await listener.flush();
    const { samples, heard: first } = heard()[0]!;
    const before = events.length;
    const { speeds } = guards.again;
    for (const [timesBefore, speed] of speeds.entries()) {
      const again = await listener.again(samples, 640, timesBefore);
      expect(Number(again!.tuned.text) / Number(first.tuned.text)).toBeCloseTo(1 / speed, 2);
    }
    expect(await listener.again(samples, 640, speeds.length)).toBeNull();
    const waiting = events
      .slice(before)
      .flatMap((event) => (event.kind === 'pending' ? [event.utterances] : []));
    expect(waiting).toEqual([...speeds, 'none left'].flatMap(() => [1, 0]));
    expect(heard()).toHaveLength(1);
  });

  it('is not begun while other speech waits', async () => {
    const { listener, heard, counts } = listen();
    feed(listener, 0, CALL);
    const again = listener.again(new Float32Array(16_000), 900, 0);
    expect(await again).toBeNull();
    await listener.flush();
    expect(heard()).toHaveLength(1);
    expect(counts().begun).toBe(1);
  });

  it('gives way to speech that comes in, which is heard as ever', async () => {
    let come = false;
    const { listener, heard, counts } = listen({
      steps: 3,
      onStep: () => {
        if (come) return;
        come = true;
        feed(listener, 0, CALL);
      },
    });
    const again = listener.again(new Float32Array(16_000), 900, 0);
    expect(await again).toBeNull();
    expect(counts().voided).toBe(1);
    await listener.flush();
    expect(heard()).toHaveLength(1);
  });

  it('is dropped with the sound that is forgotten, and for a later one', async () => {
    const { listener } = listen();
    const [one, two] = [
      listener.again(new Float32Array(800), 50, 0),
      listener.again(new Float32Array(800), 50, 0),
    ];
    expect(await one).toBeNull();
    expect(await two).not.toBeNull();
    const three = listener.again(new Float32Array(800), 50, 0);
    await listener.forget();
    expect(await three).toBeNull();
  });

  it('keeps no sound from being settled', async () => {
    const { listener } = listen();
    const end = feed(listener, 0, CALL);
    await listener.flush();
    void listener.again(new Float32Array(800), 50, 0);
    listener.push({ atMs: end, sampleRate: 16000, samples: new Float32Array(512) });
    await listener.flush();
    expect(listener.settledMs() ?? end).toBeGreaterThanOrEqual(end);
  });
});
