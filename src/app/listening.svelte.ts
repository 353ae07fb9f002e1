import {
  startMicrophone,
  type CaptureChunk,
  type CaptureState,
  type MicrophoneOptions,
} from '../audio/capture.ts';
import type { SignalState, SignalSummary } from '../audio/level.ts';
import { playAloud } from '../audio/play-aloud.ts';
import { playRecording } from '../audio/play-recording.ts';
import type { Sound } from '../audio/wav.ts';
import { SpeechClient, type SpeechEvent } from '../asr/client.ts';
import type { Heard } from '../core/interpret/interpretation.ts';
import type { LogEvent } from '../core/log/events.ts';
import type { Unsettled } from '../core/dialogue/notice.ts';
import { meaningOf, takeIn, worthAgain, type HeardUtterance } from '../core/dialogue/take-in.ts';
import type { Vocabulary } from '../core/vocabulary/vocabulary.ts';
import { holdRecording } from '../store/recorded-here.ts';
import type { HearingSnapshot, HearingState } from './hearing-state.ts';
import type { MakeBodies, RunningRecord } from './running-record.svelte.ts';
import { SoundKeeper } from './sound-keeper.svelte.ts';
import { WakeLock } from './wake-lock.svelte.ts';

export type Source =
  | { kind: 'microphone'; wishes: MicrophoneOptions }
  /** `speed` other than 1 is for tests: the record's clock then runs at the recording's pace. */
  | { kind: 'recording'; sound: Sound; label: string; speed: number };

/** Who hears where there is no record yet; times of performance.now()'s clock. */
export interface StandbyEar {
  heard(utterance: HeardUtterance): void;
  worth(utterance: HeardUtterance): boolean;
  unheard(): void;
}

/** How long sound is still ignored after the app's own voice fell silent: the room's echo. */
const ECHO_MS = 300;
const METER_EVERY_MS = 100;

/**
 * Hears the room for one running record, or in standby for nobody's yet: microphone or recording → speech worker → interpreter → log.
 * It holds the state that the screens show and nothing else; the record holds what was heard.
 */
export class Listening {
  state: HearingState = $state.raw({ kind: 'off' });
  warning: Exclude<SignalState, 'good'> | null = $state(null);
  /** Loudness now, dBFS. */
  levelDb = $state(-96);
  signal: SignalSummary | null = $state.raw(null);
  /** Somebody is being heard just now. */
  speaking = $state(false);
  /** Utterances that wait for recognition, and how much sound that is. */
  waiting = $state(0);
  waitingMs = $state(0);
  /** A sentence where adding to the record failed. */
  trouble = $state('');
  /** The recogniser stopped and is being started again; what is said meanwhile waits for it. */
  restarting = $state(false);
  /** What is being listened to again, where nothing was made of it so far. */
  unsettled: Unsettled | null = $state.raw(null);
  /** The app's own voice is speaking: what the microphone hears is ignored. */
  ignoring = $state(false);
  /** Record time of a recording's first sample; null until it plays. */
  recordingBeganMs: number | null = $state(null);
  /** When the last sound came, ms since 1970 UTC: a device that sleeps gives none. */
  lastSoundMs = 0;
  readonly wakeLock = new WakeLock();
  /** What of the sound is kept; in standby none. */
  sound: SoundKeeper = $state.raw()!;

  #to: RunningRecord | StandbyEar;
  readonly #vocabulary: () => Vocabulary;
  readonly #changed: (snapshot: HearingSnapshot) => void;
  #speech: SpeechClient | null = null;
  #input: { stop(): unknown } | null = null;
  #inputState: HearingState = { kind: 'off' };
  #speechReady = false;
  /** How many sentences of the app's own voice are being spoken; one may begin in the echo of another. */
  #voices = 0;
  #lastMeterMs = 0;
  #told: 'listening' | 'unavailable' | null = null;
  #added: Promise<unknown> = Promise.resolve();
  /** What is heard, even after the finish, keeps other windows from locking the record away. */
  #recording: (() => void) | null = null;

  constructor(
    to: RunningRecord | StandbyEar,
    vocabulary: () => Vocabulary,
    changed: (snapshot: HearingSnapshot) => void = () => {},
  ) {
    this.#to = to;
    this.sound = new SoundKeeper(this.#record?.recordId ?? '');
    this.#vocabulary = vocabulary;
    this.#changed = changed;
  }

  get #record(): RunningRecord | null {
    return 'heard' in this.#to ? null : this.#to;
  }

  /** Record time of a moment of the sound; in standby that moment itself. */
  #atMs(performanceMs: number): number {
    return this.#record?.clock.atPerformanceMs(performanceMs) ?? performanceMs;
  }

  /** From standby into a record: all that is heard from now on goes there. */
  recordInto(record: RunningRecord): void {
    this.#to = record;
    this.sound = new SoundKeeper(record.recordId);
    this.#recording ??= holdRecording(record.recordId);
    this.#told = null;
    this.#show();
    this.tellHearing();
  }

  get on(): boolean {
    return this.state.kind !== 'off' && this.state.kind !== 'ended';
  }

  /** Opens the source at once and the speech model beside it, unless one is `open`: what is said waits for it. */
  async start(source: Source, open: SpeechClient | null = null): Promise<void> {
    await this.stop();
    this.#set({ kind: 'loading', loadedBytes: 0, totalBytes: 0 });
    const hear = (event: SpeechEvent) => this.#hear(event);
    open?.handTo(hear);
    const speech = open ?? new SpeechClient(hear);
    this.#speech = speech;
    const opened = speech.open();
    void this.wakeLock.hold();
    if (this.#record) this.#recording ??= holdRecording(this.#record.recordId);
    if (source.kind === 'microphone') {
      this.#input = await startMicrophone(
        {
          onChunk: (chunk) => this.#push(chunk),
          onLevel: ({ rmsDb }) => this.#meter(rmsDb),
          onState: (state) => this.#captureChanged(state),
        },
        source.wishes,
      );
    }
    const result = await opened;
    if (this.#speech !== speech) return;
    if (result.kind !== 'ready') {
      const sentence = result.kind === 'refused' ? result.problem.sentence : result.sentence;
      return this.#unusable(sentence);
    }
    this.#speechReady = true;
    if (source.kind === 'recording') this.#play(source);
    else this.#show();
  }

  async #unusable(sentence: string): Promise<void> {
    await this.#stopInput();
    this.#set({ kind: 'speech-unusable', sentence });
    this.#tell('unavailable', sentence);
  }

  /** Ends hearing; what is still waiting is recognised first. */
  async stop(): Promise<void> {
    await this.#stopInput();
    const speech = this.#speech;
    this.#speech = null;
    if (speech) {
      if (this.#speechReady) await speech.finish();
      speech.close();
    }
    this.#speechReady = false;
    await this.#added;
    void this.wakeLock.release();
    this.#letGo();
    if (this.state.kind !== 'off') {
      this.#set({ kind: 'off' });
      this.#tell('unavailable', 'stopped');
    }
  }

  /** Ignores the microphone until the promise settles: for the app's own voice. */
  async ignoreWhile(speaking: Promise<unknown>): Promise<void> {
    this.#voices += 1;
    this.ignoring = true;
    this.tellHearing();
    await speaking.catch(() => {});
    await new Promise((resolve) => setTimeout(resolve, ECHO_MS));
    this.#voices -= 1;
    this.ignoring = this.#voices > 0;
    this.tellHearing();
  }

  #play(source: Extract<Source, { kind: 'recording' }>): void {
    this.#inputState = { kind: 'listening', source: 'recording', label: source.label };
    this.#show();
    const startMs = performance.now();
    this.recordingBeganMs = this.#atMs(startMs);
    const aloud = source.speed === 1 ? playAloud(source.sound) : null;
    const playing = playRecording(source.sound, {
      speed: source.speed,
      startMs,
      onChunk: (chunk) => this.#push(chunk),
      onLevel: ({ rmsDb }) => this.#meter(rmsDb),
      onEnd: () => void this.#recordingEnded(),
    });
    this.#input = {
      stop: () => {
        playing.stop();
        aloud?.stop();
      },
    };
  }

  async #recordingEnded(): Promise<void> {
    await this.#speech?.finish();
    await this.#added;
    this.#input = null;
    this.#set({ kind: 'ended' });
    this.#tell('unavailable', 'recording-ended');
    this.#speech?.close();
    this.#speech = null;
    this.#speechReady = false;
    void this.wakeLock.release();
    this.#letGo();
  }

  #letGo(): void {
    this.#recording?.();
    this.#recording = null;
  }

  async #stopInput(): Promise<void> {
    await this.#input?.stop();
    this.#input = null;
    this.#inputState = { kind: 'off' };
  }

  /** Silence of the same length stands in for ignored sound: the count of samples is the clock. */
  #push(chunk: CaptureChunk): void {
    this.lastSoundMs = Date.now();
    const heard = this.ignoring ? { ...chunk, samples: new Float32Array(chunk.samples.length) } : chunk;
    this.#speech?.push(heard);
    this.sound.push(heard);
  }

  #meter(rmsDb: number): void {
    const now = performance.now();
    if (now - this.#lastMeterMs < METER_EVERY_MS) return;
    this.#lastMeterMs = now;
    this.levelDb = rmsDb;
  }

  #captureChanged(state: CaptureState): void {
    if (state.kind === 'gap') return;
    if (state.kind === 'running') {
      this.#inputState = { kind: 'listening', source: 'microphone', label: state.deviceLabel };
    } else {
      const why = 'why' in state ? state.why : undefined;
      this.#inputState = { kind: 'microphone-problem', problem: state.kind, why };
    }
    this.#show();
  }

  /** The input's state, once the speech model is there; a microphone's problem at once. */
  #show(): void {
    if (this.#inputState.kind === 'listening') {
      if (!this.#speechReady) return;
      this.#set(this.#inputState);
      this.#tell('listening');
    } else if (this.#inputState.kind === 'microphone-problem') {
      this.#set(this.#inputState);
      this.#tell('unavailable', this.#inputState.problem);
    }
  }

  #set(state: HearingState): void {
    this.state = state;
    if (state.kind !== 'listening') {
      this.speaking = false;
      this.restarting = false;
      this.warning = null;
    }
    this.tellHearing();
  }

  /** Tells other windows how the hearing is. */
  tellHearing(): void {
    const { state, warning, speaking, waiting, ignoring } = this;
    this.#changed({ state, warning, speaking, waiting, ignoring });
  }

  /** The log says from when to when speech was not heard. */
  #tell(state: 'listening' | 'unavailable', why?: string): void {
    const record = this.#record;
    if (!record) return;
    if (this.#told === state || (this.#told === null && state === 'unavailable' && why === 'stopped')) return;
    this.#told = state;
    const atMs = record.clock.nowMs();
    void this.#add((view) => {
      // A finished record changes only by a person's act.
      if (view.finishedAtMs !== null) return [];
      return [{ kind: 'speech-state', state, atMs, ...(why ? { why } : {}) }];
    }, 'system');
  }

  #hear(event: SpeechEvent): void {
    switch (event.kind) {
      case 'progress':
        if (this.state.kind === 'loading')
          this.#set({ kind: 'loading', loadedBytes: event.loadedBytes, totalBytes: event.totalBytes });
        return;
      case 'speaking':
        this.speaking = true;
        return this.tellHearing();
      case 'misfire':
        this.speaking = false;
        return this.tellHearing();
      case 'heard': {
        this.speaking = false;
        const utterance = (again: readonly Heard[]) => ({
          onsetMs: this.#atMs(event.onsetMs),
          endMs: this.#atMs(event.endMs),
          heard: event.heard,
          again,
        });
        const add = (again: readonly Heard[]) => {
          if ('heard' in this.#to) return this.#to.heard(utterance(again));
          return this.#addHeard(event, 'voice', (view) => {
            const taken = takeIn(utterance(again), view, this.#vocabulary(), () => crypto.randomUUID());
            if (taken.fault !== undefined) console.error(taken.fault);
            return taken.bodies;
          });
        };
        const worth = (again: readonly Heard[]) =>
          'heard' in this.#to
            ? this.#to.worth(utterance(again))
            : this.#worthAgain(this.#to, utterance(again));
        // What is heard while listening ends is not listened to again.
        return this.#speech ? this.#speech.listenOn(event, worth, add) : add([]);
      }
      case 'unheard':
        if ('heard' in this.#to) return this.#to.unheard();
        return this.#addHeard(event, 'system', () => [
          {
            kind: 'utterance',
            utteranceId: crypto.randomUUID(),
            onsetMs: this.#atMs(event.onsetMs),
            endMs: this.#atMs(event.endMs),
            heard: '',
            confidence: 0,
            outcome: 'unrecognised',
            unheard: event.why,
          },
        ]);
      case 'pending':
        this.waiting = event.utterances;
        this.waitingMs = event.audioMs;
        return this.tellHearing();
      case 'signal':
        this.signal = event.summary;
        this.warning = event.state === 'good' || this.ignoring ? null : event.state;
        return this.tellHearing();
      case 'restarted':
        this.restarting = true;
        this.speaking = false;
        return this.tellHearing();
      case 'recovered':
        this.restarting = false;
        return;
      case 'gone':
        this.#speechReady = false;
        return void this.#unusable(event.sentence);
    }
  }

  /** Words that the first listening made nothing of are told at once, though the others may find something. */
  #worthAgain(record: RunningRecord, utterance: HeardUtterance): boolean {
    const more = worthAgain(utterance, record.view, this.#vocabulary());
    if (more && utterance.again?.length === 0) {
      const { onsetMs, endMs, heard } = utterance;
      const nothing = meaningOf(utterance, record.view, this.#vocabulary()).outcome === 'unrecognised';
      this.unsettled = nothing
        ? { heard: heard.tuned.text, onsetMs, endMs, toldAtMs: record.clock.nowMs() }
        : null;
    }
    return more;
  }

  #addHeard(span: { onsetMs: number; endMs: number }, by: 'voice' | 'system', make: MakeBodies): void {
    const sound = this.sound.take(span.onsetMs, span.endMs);
    void this.#add(make, by).then((events) => this.sound.keep(sound, events));
  }

  #add(make: MakeBodies, by: 'voice' | 'system'): Promise<LogEvent[]> {
    const record = this.#record;
    if (!record) return Promise.resolve([]);
    const added = record.append(make, { kind: by }).then(
      (events) => {
        this.trouble = '';
        return events;
      },
      (error: unknown) => {
        this.trouble = error instanceof Error ? error.message : String(error);
        return [];
      },
    );
    this.#added = added;
    return added;
  }
}
