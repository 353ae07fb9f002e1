import { startMicrophone, type Capture, type CaptureState } from '../audio/capture.ts';
import type { SignalState, SignalSummary } from '../audio/level.ts';
import { SpeechClient, type SpeechEvent } from '../asr/client.ts';
import type { Heard } from '../core/interpret/interpretation.ts';
import { settings } from './settings.svelte.ts';

export type SpeechReadiness =
  | { kind: 'unopened' }
  | { kind: 'loading'; loadedBytes: number; totalBytes: number }
  | { kind: 'ready'; loadMs: number }
  | { kind: 'unusable'; sentence: string };

export type MicrophoneReadiness =
  | { kind: 'off' }
  | { kind: 'opening' }
  | { kind: 'running'; label: string }
  | { kind: 'problem'; problem: Exclude<CaptureState['kind'], 'running' | 'gap'> };

/** One utterance that was heard outside any record. */
export interface Tried {
  heard: Heard;
  /** What was heard when it was listened to again, at other speeds. */
  again: readonly Heard[];
  /** Length of the speech, ms. */
  speechMs: number;
  /** Loudness of the room and of speech around it, dBFS; null before anything was measured. */
  signal: SignalSummary | null;
}

/** Whether an utterance is worth listening to again, after it was listened to again so often. */
export type WorthAgain = (heard: Heard, again: readonly Heard[]) => boolean;

/**
 * The microphone and the recogniser without a record: for the checks before the start, the voice check and
 * trying a phrase. Nothing that is heard is kept.
 */
export class TryHearing {
  speech: SpeechReadiness = $state.raw({ kind: 'unopened' });
  microphone: MicrophoneReadiness = $state.raw({ kind: 'off' });
  /** Loudness now, dBFS. */
  levelDb = $state(-96);
  signal: SignalSummary | null = $state.raw(null);
  warning: Exclude<SignalState, 'good'> | null = $state(null);
  speaking = $state(false);
  waiting = $state(0);

  readonly #tell: (tried: Tried) => void;
  readonly #worthAgain: WorthAgain;
  #client: SpeechClient | null = null;
  #capture: Capture | null = null;

  constructor(tell: (tried: Tried) => void = () => {}, worthAgain: WorthAgain = () => false) {
    this.#tell = tell;
    this.#worthAgain = worthAgain;
  }

  /** Loads and checks the speech model. */
  async openSpeech(): Promise<void> {
    if (this.#client) return;
    this.speech = { kind: 'loading', loadedBytes: 0, totalBytes: 0 };
    const client = new SpeechClient((event) => this.#hear(event));
    this.#client = client;
    const result = await client.open();
    if (this.#client !== client) return;
    if (result.kind === 'ready') this.speech = { kind: 'ready', loadMs: result.loadMs };
    else {
      this.#client = null;
      const sentence = result.kind === 'refused' ? result.problem.sentence : result.sentence;
      this.speech = { kind: 'unusable', sentence };
    }
  }

  /** Opens the microphone with the settings' choices. */
  async openMicrophone(): Promise<void> {
    await this.#capture?.stop();
    this.#capture = null;
    this.microphone = { kind: 'opening' };
    const { deviceId, ...processing } = settings.now.microphone;
    this.#capture = await startMicrophone(
      {
        onChunk: (chunk) => this.#client?.push(chunk),
        onLevel: ({ rmsDb }) => (this.levelDb = rmsDb),
        onState: (state) => this.#changed(state),
      },
      { ...processing, ...(deviceId ? { deviceId } : {}) },
    );
  }

  /** The speech model for a record, open or being opened, so that it need not be loaded twice; null without one. */
  handOver(): SpeechClient | null {
    const client = this.#client;
    this.#client = null;
    return client;
  }

  async close(): Promise<void> {
    const [capture, client] = [this.#capture, this.#client];
    [this.#capture, this.#client] = [null, null];
    this.microphone = { kind: 'off' };
    this.speech = { kind: 'unopened' };
    client?.close();
    await capture?.stop();
  }

  #changed(state: CaptureState): void {
    if (state.kind === 'gap') return;
    this.microphone =
      state.kind === 'running'
        ? { kind: 'running', label: state.deviceLabel }
        : { kind: 'problem', problem: state.kind };
  }

  #hear(event: SpeechEvent): void {
    switch (event.kind) {
      case 'progress':
        if (this.speech.kind === 'loading') {
          this.speech = { kind: 'loading', loadedBytes: event.loadedBytes, totalBytes: event.totalBytes };
        }
        return;
      case 'speaking':
        this.speaking = true;
        return;
      case 'misfire':
        this.speaking = false;
        return;
      case 'pending':
        this.waiting = event.utterances;
        return;
      case 'signal':
        this.signal = event.summary;
        this.warning = event.state === 'good' ? null : event.state;
        return;
      case 'heard':
        this.speaking = false;
        return this.#client?.listenOn(
          event,
          (again) => this.#worthAgain(event.heard, again),
          (again) =>
            this.#tell({
              heard: event.heard,
              again,
              speechMs: event.endMs - event.onsetMs,
              signal: this.signal,
            }),
        );
      case 'unheard':
      case 'restarted':
        this.speaking = false;
        return;
      default:
        return;
    }
  }
}
