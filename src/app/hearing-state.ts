import type { CaptureState } from '../audio/capture.ts';
import type { SignalState } from '../audio/level.ts';

/**
 * Whether the room is being heard, and if not, why. Everything but `listening` and `loading` means that
 * call-outs must be logged by touch.
 */
export type HearingState =
  | { kind: 'off' }
  /** The speech model is being loaded; what is said already waits and is not lost. */
  | { kind: 'loading'; loadedBytes: number; totalBytes: number }
  | { kind: 'listening'; source: 'microphone' | 'recording'; label: string }
  /** The recording is through. */
  | { kind: 'ended' }
  | {
      kind: 'microphone-problem';
      problem: Exclude<CaptureState['kind'], 'running' | 'gap'>;
      why?: string;
    }
  | { kind: 'speech-unusable'; sentence: string };

/** What another window may know of the hearing in the one that holds the microphone. */
export interface HearingSnapshot {
  state: HearingState;
  warning: Exclude<SignalState, 'good'> | null;
  speaking: boolean;
  waiting: number;
  ignoring: boolean;
}

/** True where nothing that is said is heard. */
export function isDeaf(state: HearingState): boolean {
  return state.kind !== 'listening' && state.kind !== 'loading';
}
