import type { CapturedBlock } from './capture-worklet.ts';
import workletUrl from './capture-worklet.ts?worker&url';
import { measureLevel, type Level } from './level.ts';
import options from './capture-options.json' with { type: 'json' };
import { makeSampleClock } from './sample-clock.ts';

/**
 * The microphone, and a recording in its place.
 *
 *     const capture = await startMicrophone({ onChunk, onLevel, onState });   // onChunk → SpeechClient.push
 *     capture.stop();
 *     const playing = playRecording(sound, { speed: 1, onChunk, onLevel, onEnd });
 *
 * `atMs` of every chunk is of performance.now()'s clock, derived from the count of samples.
 */
export interface CaptureChunk {
  atMs: number;
  sampleRate: number;
  samples: Float32Array;
}

/** How the input is. Everything but `running` needs a person or waits for the device. */
export type CaptureState =
  | { kind: 'running'; deviceLabel: string; sampleRate: number }
  | { kind: 'no-permission' }
  | { kind: 'no-microphone' }
  /** Another program has it, or the device refuses. */
  | { kind: 'busy'; why: string }
  /** The browser has no microphone access on this page (not secure, too old). */
  | { kind: 'unsupported' }
  | { kind: 'unplugged' }
  /** The browser holds the sound back until a person touches the page. */
  | { kind: 'suspended' }
  /** Sound was lost for so long; the record goes on. */
  | { kind: 'gap'; lostMs: number };

export interface MicrophoneOptions {
  deviceId?: string;
  echoCancellation?: boolean;
  noiseSuppression?: boolean;
  autoGainControl?: boolean;
}

/** Measured defaults: capture-options.json. */
export const MICROPHONE_DEFAULTS: Required<Omit<MicrophoneOptions, 'deviceId'>> = {
  echoCancellation: options.echoCancellation,
  noiseSuppression: options.noiseSuppression,
  autoGainControl: options.autoGainControl,
};

export interface CaptureHandlers {
  onChunk: (chunk: CaptureChunk) => void;
  onLevel?: (level: Level) => void;
  onState: (state: CaptureState) => void;
}

export interface Capture {
  stop(): Promise<void>;
}

function refusal(error: unknown): CaptureState {
  switch (error instanceof DOMException ? error.name : '') {
    case 'NotAllowedError':
    case 'SecurityError':
      return { kind: 'no-permission' };
    case 'NotFoundError':
    case 'OverconstrainedError':
      return { kind: 'no-microphone' };
    default:
      return { kind: 'busy', why: error instanceof Error ? error.message : String(error) };
  }
}

/**
 * Opens the microphone and keeps it: after an unplugged device or a changed list of devices it tries again by
 * itself, and says so. Resolves at once; what becomes of it is told by `onState`.
 */
export async function startMicrophone(
  handlers: CaptureHandlers,
  wishes: MicrophoneOptions = {},
): Promise<Capture> {
  const devices = navigator.mediaDevices as MediaDevices | undefined;
  if (!devices?.getUserMedia || typeof AudioWorkletNode === 'undefined') {
    handlers.onState({ kind: 'unsupported' });
    return { stop: async () => {} };
  }
  const context = new AudioContext();
  await context.audioWorklet.addModule(workletUrl);
  const node = new AudioWorkletNode(context, 'utterlog-capture', { numberOfOutputs: 0 });
  const clock = makeSampleClock(context.sampleRate);
  let stopped = false;
  let input: { stream: MediaStream; source: MediaStreamAudioSourceNode } | null = null;
  let opening = false;

  node.port.onmessage = ({ data }: MessageEvent<CapturedBlock>) => {
    const { firstSample, samples } = data;
    const { atMs, lostMs } = clock.timeOf(firstSample, {
      pageMs: performance.now(),
      contextMs: context.currentTime * 1000,
    });
    if (lostMs > 0) handlers.onState({ kind: 'gap', lostMs });
    handlers.onLevel?.(measureLevel(samples));
    handlers.onChunk({ atMs, sampleRate: context.sampleRate, samples });
  };

  const closeInput = (): void => {
    input?.source.disconnect();
    input?.stream.getTracks().forEach((track) => track.stop());
    input = null;
  };

  const openInput = async (): Promise<void> => {
    if (stopped || opening || input) return;
    opening = true;
    try {
      const stream = await devices.getUserMedia({
        audio: {
          ...MICROPHONE_DEFAULTS,
          ...wishes,
          ...(wishes.deviceId ? { deviceId: { ideal: wishes.deviceId } } : {}),
        },
      });
      const track = stream.getAudioTracks()[0]!;
      if (stopped) return track.stop();
      const source = context.createMediaStreamSource(stream);
      source.connect(node);
      input = { stream, source };
      track.onended = () => {
        if (input?.stream !== stream) return;
        closeInput();
        handlers.onState({ kind: 'unplugged' });
      };
      if (context.state !== 'running') await Promise.race([context.resume(), after(500)]);
      tellContext();
    } catch (error) {
      handlers.onState(refusal(error));
    } finally {
      opening = false;
    }
  };

  const tellContext = (): void => {
    if (stopped || !input) return;
    if (context.state === 'running') {
      const deviceLabel = input.stream.getAudioTracks()[0]!.label;
      handlers.onState({ kind: 'running', deviceLabel, sampleRate: context.sampleRate });
    } else handlers.onState({ kind: 'suspended' });
  };
  const resume = (): void => void context.resume().catch(() => {});
  const reconnect = (): void => void openInput();

  context.onstatechange = tellContext;
  devices.addEventListener('devicechange', reconnect);
  document.addEventListener('pointerdown', resume);
  document.addEventListener('visibilitychange', resume);
  await openInput();

  return {
    async stop() {
      stopped = true;
      devices.removeEventListener('devicechange', reconnect);
      document.removeEventListener('pointerdown', resume);
      document.removeEventListener('visibilitychange', resume);
      closeInput();
      node.port.onmessage = null;
      await context.close();
    },
  };
}

const after = (ms: number): Promise<void> => new Promise((resolve) => setTimeout(resolve, ms));
