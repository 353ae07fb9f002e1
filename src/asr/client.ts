import type { Chunk, ListenerEvent } from './listener.ts';
import type { LoadProgress, ModelProblem } from './model-files.ts';
import type { FromWorker, HeardEvent, ToWorker } from './protocol.ts';
import type { HeardTwice } from './recogniser.ts';

/**
 * The only one that talks to the speech worker.
 *
 *     const speech = new SpeechClient((event) => …);
 *     const state = await speech.open();          // ready, or why not, in a sentence
 *     speech.push({ atMs, sampleRate, samples }); // blocks of sound in order, from capture.ts
 *     await speech.finish();                      // the source ended; everything is recognised
 *     speech.close();
 *
 * Sound is kept here until the worker needs it no more: a worker that crashes or hangs is replaced and gets
 * it again. `atMs` is any clock that runs with the samples; all times that come back are of that clock.
 */
export type SpeechEvent =
  | Exclude<ListenerEvent, { kind: 'heard' }>
  /** Without its sound: the worker keeps that of the last utterance, to listen to it again. */
  | HeardEvent
  | ({ kind: 'progress' } & LoadProgress)
  /** A new worker took over; what was not yet recognised is done again. */
  | { kind: 'restarted'; why: string }
  /** That worker is ready. */
  | { kind: 'recovered' }
  /** Or it could not start: nothing is heard any more. */
  | { kind: 'gone'; sentence: string }
  /** Sound that could not be recognised, never silently: keep the span in the log. */
  | { kind: 'unheard'; onsetMs: number; endMs: number; why: 'too-far-behind' | 'recogniser-failed' };

export type OpenResult =
  | { kind: 'ready'; loadMs: number }
  | { kind: 'refused'; problem: ModelProblem }
  | { kind: 'unusable'; sentence: string };

/** The part of a Worker that is used; tests give their own. */
export type WorkerLike = Pick<
  Worker,
  'postMessage' | 'terminate' | 'onmessage' | 'onerror' | 'onmessageerror'
>;

export interface ClientOptions {
  /** Folder addresses; by default beside the app's page. */
  modelsBase?: string;
  wasmBase?: string;
  makeWorker?: () => WorkerLike;
  /** Most sound that may wait, ms; beyond it the oldest is told as unheard. */
  mostKeptMs?: number;
  /** A worker that has sound and says nothing for so long counts as hung, ms. */
  hangMs?: number;
}

const MOST_KEPT_MS = 120_000;
/** A worker that hears tells of the signal five times a second, between the steps of recognition too. */
const HANG_MS = 10_000;
/** No question waits for longer, however often it is listened to: then what was heard so far stands. */
const AGAIN_MS = 3_000;
/** After so many crashes in a row without a result, the oldest stretch of sound is given up. */
const PATIENCE = 2;
const GIVE_UP_MS = 8_000;

const chunkEnd = (chunk: Chunk): number => chunk.atMs + (chunk.samples.length / chunk.sampleRate) * 1000;

export class SpeechClient {
  #tell: (event: SpeechEvent) => void;
  readonly #options: Required<ClientOptions>;
  #worker: WorkerLike | null = null;
  #opened: ((result: OpenResult) => void) | null = null;
  #opening: Promise<OpenResult> | null = null;
  /** The worker still speaks of sound from before `handTo`. */
  #forgetting = false;
  #ready = false;
  #kept: Chunk[] = [];
  #settledMs = -Infinity;
  #heardUntilMs = -Infinity;
  #crashes = 0;
  #again: { onsetMs: number; timesBefore: number; done: (heard: HeardTwice | null) => void } | null = null;
  #flushes = new Map<number, () => void>();
  #nextTicket = 0;
  #watch: ReturnType<typeof setTimeout> | undefined;

  constructor(tell: (event: SpeechEvent) => void, options: ClientOptions = {}) {
    this.#tell = tell;
    this.#options = {
      modelsBase: options.modelsBase ?? new URL('models/', document.baseURI).href,
      wasmBase: options.wasmBase ?? new URL('wasm/', document.baseURI).href,
      makeWorker:
        options.makeWorker ?? (() => new Worker(new URL('./worker.ts', import.meta.url), { type: 'module' })),
      mostKeptMs: options.mostKeptMs ?? MOST_KEPT_MS,
      hangMs: options.hangMs ?? HANG_MS,
    };
  }

  /** Starts the worker, once. Sound may be pushed from now on; it waits until the model is there. */
  open(): Promise<OpenResult> {
    return (this.#opening ??= new Promise((resolve) => {
      this.#opened = resolve;
      this.#startWorker();
    }));
  }

  /** Whoever listens changes, the model stays: events go to `tell`, and none is of sound from before. */
  handTo(tell: (event: SpeechEvent) => void): void {
    this.#tell = tell;
    this.#kept = [];
    this.#forgetting = this.#ready;
    if (this.#ready) this.#post({ kind: 'forget' });
  }

  push(chunk: Chunk): void {
    if (!this.#worker) return;
    this.#kept.push(chunk);
    if (this.#ready) this.#post({ kind: 'audio', chunk });
    if (this.#ready) this.#watch ??= setTimeout(() => this.#restart('no answer'), this.#options.hangMs);
    const first = this.#kept[0]!;
    if (chunkEnd(chunk) - Math.max(first.atMs, this.#settledMs) > this.#options.mostKeptMs) {
      this.#giveUp(first.atMs + GIVE_UP_MS, 'too-far-behind');
    }
  }

  /**
   * Listens again to an utterance just heard, at another speed each time, while that is `worth` it. `done` is called
   * once and before anything later is told, with what was heard; other speech, a crash or the end come first.
   */
  listenOn(
    event: Extract<SpeechEvent, { kind: 'heard' }>,
    worth: (again: readonly HeardTwice[]) => boolean,
    done: (again: readonly HeardTwice[]) => void,
    again: readonly HeardTwice[] = [],
  ): void {
    if (!worth(again)) return done(again);
    const { onsetMs, heard } = event;
    const timesBefore = again.length;
    this.#endAgain();
    this.#again = {
      onsetMs,
      timesBefore,
      done: (another) => (another ? this.listenOn(event, worth, done, [...again, another]) : done(again)),
    };
    this.#post({ kind: 'again', onsetMs, timesBefore, speechMs: heard.speechMs });
    if (timesBefore === 0) setTimeout(() => this.#endAgain(null, { onsetMs }), AGAIN_MS);
  }

  /** Ends the listening under way; where one is named, only that one: an answer may come late. */
  #endAgain(heard: HeardTwice | null = null, named?: { onsetMs: number; timesBefore?: number }): void {
    const again = this.#again;
    if (!again) return;
    const { onsetMs = again.onsetMs, timesBefore = again.timesBefore } = named ?? {};
    if (onsetMs !== again.onsetMs || timesBefore !== again.timesBefore) return;
    this.#again = null;
    again.done(heard);
  }

  /** Ends an utterance under way and waits until everything is recognised. */
  finish(): Promise<void> {
    if (!this.#worker) return Promise.resolve();
    const ticket = this.#nextTicket++;
    return new Promise((resolve) => {
      this.#flushes.set(ticket, resolve);
      if (this.#ready) this.#post({ kind: 'flush', ticket });
    });
  }

  /** Sound that waits for recognition, ms. */
  get keptMs(): number {
    const last = this.#kept.at(-1);
    return last ? chunkEnd(last) - Math.max(this.#kept[0]!.atMs, this.#settledMs) : 0;
  }

  close(): void {
    this.#endAgain();
    this.#stopWatch();
    this.#worker?.terminate();
    this.#worker = null;
    this.#ready = false;
    this.#kept = [];
    for (const done of this.#flushes.values()) done();
    this.#flushes.clear();
  }

  #post(message: ToWorker): void {
    this.#worker?.postMessage(message);
  }

  #startWorker(): void {
    const worker = this.#options.makeWorker();
    this.#worker = worker;
    this.#ready = this.#forgetting = false;
    worker.onmessage = ({ data }: MessageEvent<FromWorker>) => worker === this.#worker && this.#receive(data);
    worker.onerror = (event) => {
      event.preventDefault?.();
      if (worker === this.#worker) this.#restart(event.message || 'the worker stopped');
    };
    worker.onmessageerror = () => worker === this.#worker && this.#restart('a message could not be read');
    const { modelsBase, wasmBase } = this.#options;
    this.#post({ kind: 'open', modelsBase, wasmBase });
  }

  #receive(message: FromWorker): void {
    this.#stopWatch();
    if (this.#forgetting && message.kind !== 'forgotten') return;
    switch (message.kind) {
      case 'forgotten':
        this.#forgetting = false;
        return;
      case 'ready':
        this.#ready = true;
        for (const chunk of this.#kept) this.#post({ kind: 'audio', chunk });
        for (const ticket of this.#flushes.keys()) this.#post({ kind: 'flush', ticket });
        if (!this.#opened) this.#tell({ kind: 'recovered' });
        return this.#answer({ kind: 'ready', loadMs: message.loadMs });
      case 'refused':
        this.close();
        return this.#answer(message);
      case 'unusable':
        this.close();
        return this.#answer({
          kind: 'unusable',
          sentence: `Speech recognition cannot run in this browser (${message.why}). Entries can be made by touch; the record is not affected.`,
        });
      case 'settled':
        this.#settledMs = message.untilMs;
        this.#kept = this.#kept.filter((chunk) => chunkEnd(chunk) > message.untilMs);
        return;
      case 'again':
        return this.#endAgain(message.heard, message);
      case 'flushed':
        this.#endAgain();
        this.#flushes.get(message.ticket)?.();
        this.#flushes.delete(message.ticket);
        return;
      case 'heard':
        // After a restart a stretch of sound can be heard a second time.
        if (message.onsetMs < this.#heardUntilMs) return;
        this.#heardUntilMs = message.endMs;
        this.#crashes = 0;
        this.#endAgain();
        return this.#tell(message);
      default:
        return this.#tell(message);
    }
  }

  /** To who opened it; to the listener of events where a later worker could not start. */
  #answer(result: OpenResult): void {
    if (this.#opened) this.#opened(result);
    else if (result.kind !== 'ready') {
      const sentence = result.kind === 'refused' ? result.problem.sentence : result.sentence;
      this.#tell({ kind: 'gone', sentence });
    }
    this.#opened = null;
  }

  #restart(why: string): void {
    this.#endAgain();
    this.#stopWatch();
    this.#worker?.terminate();
    this.#crashes++;
    if (!this.#ready && this.#opened && this.#crashes > PATIENCE) {
      this.close();
      return this.#answer({
        kind: 'unusable',
        sentence: `Speech recognition stopped while it started (${why}). Entries can be made by touch; reload to try again.`,
      });
    }
    this.#tell({ kind: 'restarted', why });
    if (this.#crashes > PATIENCE && this.#kept.length > 0) {
      this.#giveUp(this.#kept[0]!.atMs + GIVE_UP_MS, 'recogniser-failed');
      this.#crashes = 0;
    }
    this.#startWorker();
  }

  /** The oldest sound, up to `untilMs`, will not be recognised: says so. */
  #giveUp(untilMs: number, why: 'too-far-behind' | 'recogniser-failed'): void {
    const given = this.#kept.filter((chunk) => chunk.atMs < untilMs);
    if (given.length === 0) return;
    this.#kept = this.#kept.slice(given.length);
    const endMs = chunkEnd(given.at(-1)!);
    if (this.#ready) this.#post({ kind: 'skip', untilMs: endMs });
    this.#tell({ kind: 'unheard', onsetMs: Math.max(given[0]!.atMs, this.#settledMs), endMs, why });
  }

  /** Any word from the worker shows that it lives; the next sound starts the watch again. */
  #stopWatch(): void {
    clearTimeout(this.#watch);
    this.#watch = undefined;
  }
}
