import type { Chunk, ListenerEvent } from './listener.ts';
import type { LoadProgress, ModelProblem } from './model-files.ts';
import type { HeardTwice } from './recogniser.ts';

/** From client.ts to worker.ts, nobody else. */
export type ToWorker =
  | { kind: 'open'; modelsBase: string; wasmBase: string }
  | { kind: 'audio'; chunk: Chunk }
  | { kind: 'flush'; ticket: number }
  /** Listen again, for the first time or a later one, to the last utterance, named by the time at which it began. */
  | { kind: 'again'; onsetMs: number; timesBefore: number; speechMs: number }
  | { kind: 'skip'; untilMs: number }
  /** Whoever listens changes: nothing heard so far is told any more. */
  | { kind: 'forget' };

/** What was heard, without its sound. */
export type HeardEvent = Omit<Extract<ListenerEvent, { kind: 'heard' }>, 'samples'>;

export type FromWorker =
  | ({ kind: 'progress' } & LoadProgress)
  | { kind: 'ready'; loadMs: number }
  | { kind: 'refused'; problem: ModelProblem }
  /** The runtime itself cannot start here. */
  | { kind: 'unusable'; why: string }
  /** Sound before this time is not needed any more. */
  | { kind: 'settled'; untilMs: number }
  | { kind: 'flushed'; ticket: number }
  | { kind: 'forgotten' }
  /** Null where something else came first, or nothing is left to try. */
  | { kind: 'again'; onsetMs: number; timesBefore: number; heard: HeardTwice | null }
  | Exclude<ListenerEvent, { kind: 'heard' }>
  | HeardEvent;
