import { SignalMeter, signalState, type SignalState, type SignalSummary } from '../audio/level.ts';
import { makeResampler, SPEECH_RATE, type Resampler } from '../audio/resample.ts';
import { makeSegmenter, type SegmentEvent, type Segmenter, type Utterance } from '../audio/segmenter.ts';
import { listenAgain } from './listen-again.ts';
import type { HeardTwice, Recogniser } from './recogniser.ts';
import { FRAME, type SpeechProbability } from './silero.ts';

/** A block of sound from a device or a file. `atMs`: time of its first sample on the stream's clock. */
export interface Chunk {
  atMs: number;
  sampleRate: number;
  samples: Float32Array;
}

export type ListenerEvent =
  | { kind: 'speaking'; onsetMs: number }
  | { kind: 'misfire'; onsetMs: number; endMs: number }
  | {
      kind: 'heard';
      onsetMs: number;
      endMs: number;
      /** Speech went on without a pause and was cut here. */
      cut: boolean;
      heard: HeardTwice;
      /** What was recognised, 16 kHz, for listening again. */
      samples: Float32Array;
      /** Time spent on recognising, listening in between included, ms. */
      computeMs: number;
      /** True where recognition began at the first pause and was done when the hang-over ended. */
      early: boolean;
    }
  | { kind: 'pending'; utterances: number; audioMs: number }
  | { kind: 'signal'; state: SignalState; summary: SignalSummary };

export interface ListenerParts {
  recogniser: Recogniser;
  newSpeechProbability: () => SpeechProbability;
  tell: (event: ListenerEvent) => void;
  /** Lets messages come in, where there are any. */
  breathe: () => Promise<void>;
  /** Begin recognising at the first pause. */
  early: boolean;
}

interface Job {
  utterance: Utterance;
  /** The utterance is over; until then it may be resumed and the job be void. */
  final: boolean;
  void: boolean;
  result: { heard: HeardTwice; computeMs: number } | null;
}

interface OtherListening {
  samples: Float32Array;
  speechMs: number;
  timesBefore: number;
  done: (heard: HeardTwice | null) => void;
}

/** Time steps that differ by more than this are a gap in the input, ms. */
const GAP_MS = 20;
const SIGNAL_EVERY_MS = 192;

/**
 * The path of the sound from any device rate to words; the same object in the browser's worker and on the
 * command line. All work is on one thread: between two steps of the recogniser it listens on.
 */
export class Listener {
  readonly #parts: ListenerParts;
  #inbox: (Chunk | 'flush' | (() => void))[] = [];
  #jobs: Job[] = [];
  #again: OtherListening | null = null;
  #running: Promise<void> | null = null;
  #stream: {
    rate: number;
    baseMs: number;
    received: number;
    resampler: Resampler;
    segmenter: Segmenter;
    probability: SpeechProbability;
    rest: Float32Array;
  } | null = null;
  #nextId = 0;
  #meter = new SignalMeter();
  #meterRest: Float32Array[] = [];
  #speaking = false;

  constructor(parts: ListenerParts) {
    this.#parts = parts;
  }

  push(chunk: Chunk): void {
    this.#inbox.push(chunk);
    this.#start();
  }

  /** The source ends: an utterance under way ends with it. Resolves when everything is recognised. */
  async flush(): Promise<void> {
    this.#inbox.push('flush');
    this.#start();
    await this.#running;
  }

  /** Listens to an utterance again (listen-again.ts). Null where that was not done: any other speech comes first. */
  again(samples: Float32Array, speechMs: number, timesBefore: number): Promise<HeardTwice | null> {
    this.#endAgain(null);
    return new Promise((done) => {
      this.#again = { samples, speechMs, timesBefore, done };
      this.#tellPending();
      this.#start();
    });
  }

  #endAgain(heard: HeardTwice | null): void {
    const again = this.#again;
    if (!again) return;
    this.#again = null;
    this.#tellPending();
    again.done(heard);
  }

  /** Drops all sound so far and what was to come of it. Resolves when none of it is told any more. */
  forget(): Promise<void> {
    return new Promise((resolve) => {
      this.#inbox = [
        () => {
          for (const job of this.#jobs) job.void = true;
          this.#jobs = [];
          this.#endAgain(null);
          this.#stream = null;
          this.#speaking = false;
          this.#meter = new SignalMeter();
          this.#meterRest = [];
          resolve();
        },
      ];
      this.#start();
    });
  }

  /** Gives up everything that began before `untilMs`. The caller has told of it. */
  skip(untilMs: number): void {
    this.#inbox = this.#inbox.filter((item) => typeof item !== 'object' || item.atMs >= untilMs);
    for (const job of this.#jobs) job.void ||= job.utterance.fromMs < untilMs;
    this.#jobs = this.#jobs.filter((job) => !job.void);
  }

  /** Stream time before which no sound is needed any more, ms; null before the first sound. */
  settledMs(): number | null {
    const oldest = this.#jobs[0]?.utterance.fromMs ?? Infinity;
    const waiting = this.#inbox.find((item) => typeof item === 'object');
    const heard = this.#stream?.segmenter.settledMs() ?? waiting?.atMs;
    return heard === undefined ? null : Math.min(oldest, heard);
  }

  #start(): void {
    this.#running ??= this.#work().finally(() => {
      this.#running = null;
      if (this.#inbox.length > 0 || this.#again) this.#start();
    });
  }

  async #work(): Promise<void> {
    await this.#hear();
    for (let job = this.#nextJob(); job || this.#again; job = this.#nextJob()) {
      if (this.#jobs.length > 0) this.#endAgain(null);
      if (job) await this.#read(job);
      else await this.#readAgain();
      await this.#hear();
    }
  }

  async #readAgain(): Promise<void> {
    const again = this.#again;
    if (!again) return;
    const { samples, speechMs, timesBefore } = again;
    const heard = await listenAgain(this.#parts.recogniser, samples, speechMs, timesBefore, async () => {
      await this.#parts.breathe();
      await this.#hear();
      return this.#again === again && this.#jobs.length === 0;
    });
    if (this.#again === again) this.#endAgain(heard);
  }

  #nextJob(): Job | undefined {
    return this.#jobs.find((job) => job.result === null);
  }

  async #read(job: Job): Promise<void> {
    const begun = performance.now();
    const { samples, speechMs } = job.utterance;
    const heard = await this.#parts.recogniser.recognise(samples, speechMs, async () => {
      await this.#parts.breathe();
      await this.#hear();
      return !job.void;
    });
    if (heard === null || job.void) return;
    job.result = { heard, computeMs: performance.now() - begun };
    this.#deliver(job, false);
  }

  #deliver(job: Job, early: boolean): void {
    if (!job.final || !job.result) return;
    this.#jobs = this.#jobs.filter((other) => other !== job);
    const { onsetMs, endMs, cut, samples } = job.utterance;
    this.#parts.tell({ kind: 'heard', onsetMs, endMs, cut, samples, ...job.result, early });
    this.#tellPending();
  }

  #tellPending(): void {
    const audioMs = this.#jobs.reduce((sum, job) => sum + job.utterance.endMs - job.utterance.onsetMs, 0);
    const utterances = this.#jobs.length + (this.#again ? 1 : 0);
    this.#parts.tell({ kind: 'pending', utterances, audioMs });
  }

  async #hear(): Promise<void> {
    for (let item = this.#inbox.shift(); item !== undefined; item = this.#inbox.shift()) {
      if (typeof item === 'function') item();
      else if (item === 'flush') await this.#endStream();
      else await this.#take(item);
    }
  }

  async #take({ atMs, sampleRate, samples }: Chunk): Promise<void> {
    const stream = this.#stream;
    const expectedMs = stream ? stream.baseMs + (stream.received / stream.rate) * 1000 : NaN;
    if (stream && (sampleRate !== stream.rate || Math.abs(atMs - expectedMs) > GAP_MS))
      await this.#endStream();
    this.#stream ??= {
      rate: sampleRate,
      baseMs: atMs,
      received: 0,
      resampler: makeResampler(sampleRate),
      segmenter: makeSegmenter(atMs, undefined, this.#nextId),
      probability: this.#parts.newSpeechProbability(),
      rest: new Float32Array(0),
    };
    this.#stream.received += samples.length;
    await this.#frames(this.#stream.resampler.push(samples));
  }

  async #endStream(): Promise<void> {
    const stream = this.#stream;
    if (!stream) return;
    await this.#frames(stream.resampler.flush());
    if (stream.rest.length > 0) await this.#frames(new Float32Array(FRAME - stream.rest.length));
    for (const event of stream.segmenter.flush()) this.#handle(event);
    this.#stream = null;
  }

  async #frames(samples: Float32Array): Promise<void> {
    const stream = this.#stream!;
    const joined = new Float32Array(stream.rest.length + samples.length);
    joined.set(stream.rest);
    joined.set(samples, stream.rest.length);
    let at = 0;
    for (; at + FRAME <= joined.length; at += FRAME) {
      const frame = joined.slice(at, at + FRAME);
      const probability = await stream.probability(frame);
      for (const event of stream.segmenter.push(frame, probability)) this.#handle(event);
      this.#measure(frame);
    }
    stream.rest = joined.slice(at);
  }

  #measure(frame: Float32Array): void {
    this.#meterRest.push(frame);
    const blockMs = (this.#meterRest.length * FRAME * 1000) / SPEECH_RATE;
    if (blockMs < SIGNAL_EVERY_MS) return;
    const block = new Float32Array(this.#meterRest.length * FRAME);
    this.#meterRest.forEach((part, k) => block.set(part, k * FRAME));
    this.#meterRest = [];
    const summary = this.#meter.add(block, blockMs, this.#speaking);
    this.#parts.tell({ kind: 'signal', state: signalState(summary), summary });
  }

  #handle(event: SegmentEvent): void {
    switch (event.kind) {
      case 'start':
        this.#speaking = true;
        this.#nextId = event.id + 1;
        this.#parts.tell({ kind: 'speaking', onsetMs: event.onsetMs });
        return;
      case 'pause':
        if (this.#parts.early)
          this.#jobs.push({ utterance: event.utterance, final: false, void: false, result: null });
        return;
      case 'resume':
        for (const job of this.#jobs) job.void ||= job.utterance.id === event.id;
        this.#jobs = this.#jobs.filter((job) => !job.void);
        return;
      case 'misfire':
        this.#speaking = false;
        this.#parts.tell(event);
        return;
      case 'utterance': {
        this.#speaking = false;
        const begun = this.#jobs.find((job) => job.utterance.id === event.utterance.id);
        if (begun) {
          begun.final = true;
          this.#deliver(begun, true);
        } else {
          this.#jobs.push({ utterance: event.utterance, final: true, void: false, result: null });
        }
        this.#tellPending();
      }
    }
  }
}
