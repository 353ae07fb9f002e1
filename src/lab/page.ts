import { SpeechClient, type OpenResult, type SpeechEvent } from '../asr/client.ts';
import { startMicrophone, type CaptureState, type MicrophoneOptions } from '../audio/capture.ts';
import { playRecording } from '../audio/play-recording.ts';
import { readWav, type Sound } from '../audio/wav.ts';
import { interpretListened } from '../core/interpret/decide/listen-again.ts';
import { loadVocabulary } from '../packs/vocabulary.ts';

/** What the bench and the soak do inside a real browser: the app's own audio and speech parts, nothing else. */
export interface Timed {
  onsetMs: number;
  endMs: number;
  text: string;
  second: string;
  computeMs: number;
  early: boolean;
  /** How often it was listened to again: in a round only. */
  timesAgain: number;
  /** From the end of the speech to the result, at real time. */
  latencyMs: number;
}

export interface Heard {
  heard: Timed[];
  unheard: { onsetMs: number; endMs: number; why: string }[];
  restarts: number;
  states: CaptureState['kind'][];
  /** Longest block of the main thread, ms; 0 where none was over 50 ms. */
  longestTaskMs: number;
}

const tasks: number[] = [];
new PerformanceObserver((list) => {
  for (const entry of list.getEntries()) tasks.push(entry.duration);
}).observe({ type: 'longtask', buffered: true });

let client: SpeechClient | null = null;
let current: Heard = empty();
let startMs = 0;
let roundSound: Sound | null = null;
const vocabulary = loadVocabulary();
let listensOn = false;
/** What was heard and is being listened to again. */
let unfinished = 0;

function empty(): Heard {
  return { heard: [], unheard: [], restarts: 0, states: [], longestTaskMs: 0 };
}

function hear(event: SpeechEvent): void {
  if (event.kind === 'restarted') current.restarts++;
  if (event.kind === 'unheard') {
    current.unheard.push({ ...event, onsetMs: event.onsetMs - startMs, endMs: event.endMs - startMs });
  }
  if (event.kind !== 'heard') return;
  unfinished++;
  client!.listenOn(
    event,
    (again) => listensOn && interpretListened(event.heard, again, { asking: false }, vocabulary).more,
    (again) => {
      unfinished--;
      current.heard.push({
        onsetMs: event.onsetMs - startMs,
        endMs: event.endMs - startMs,
        text: event.heard.tuned.text,
        second: event.heard.untouched.text,
        computeMs: event.computeMs,
        early: event.early,
        timesAgain: again.length,
        latencyMs: performance.now() - event.endMs,
      });
    },
  );
}

async function fetchSound(url: string): Promise<Sound> {
  return readWav(new Uint8Array(await (await fetch(url)).arrayBuffer()));
}

async function done(): Promise<Heard> {
  await client!.finish();
  return { ...current, longestTaskMs: Math.max(0, ...tasks) };
}

const lab = {
  open(): Promise<OpenResult> {
    client = new SpeechClient(hear);
    return client.open();
  },

  /** A recording at its own pace through the path that practice uses. */
  async play(url: string): Promise<Heard> {
    const sound = await fetchSound(url);
    current = empty();
    tasks.length = 0;
    startMs = performance.now();
    await new Promise<void>((resolve) =>
      playRecording(sound, { speed: 1, startMs, onChunk: (chunk) => client!.push(chunk), onEnd: resolve }),
    );
    return done();
  },

  /** The microphone for so long. */
  async listen(durationMs: number, wishes: MicrophoneOptions = {}): Promise<Heard> {
    current = empty();
    tasks.length = 0;
    startMs = performance.now();
    const capture = await startMicrophone(
      {
        onChunk: (chunk) => client!.push(chunk),
        onState: (state) => current.states.push(state.kind),
      },
      wishes,
    );
    await new Promise((resolve) => setTimeout(resolve, durationMs));
    await capture.stop();
    return done();
  },

  /**
   * One round of a long listening: the recording as fast as it is worked off, its times going on from `atMs`; what is
   * unsure is listened to again, as in a record.
   */
  async round(url: string, atMs: number): Promise<Heard & { endedMs: number }> {
    // Once for all rounds: a browser under inspection keeps the body of every answer.
    roundSound ??= await fetchSound(url);
    const { sampleRate, samples } = roundSound;
    current = empty();
    startMs = atMs;
    listensOn = true;
    const block = Math.round((sampleRate * BLOCK_MS) / 1000);
    for (let at = 0; at < samples.length; at += block) {
      const part = samples.slice(at, at + block);
      client!.push({ atMs: atMs + (at / sampleRate) * 1000, sampleRate, samples: part });
      await new Promise((resolve) => setTimeout(resolve, BLOCK_MS / FASTER));
      while (client!.keptMs > MOST_AHEAD_MS || unfinished > 0)
        await new Promise((resolve) => setTimeout(resolve, 5));
    }
    while (client!.keptMs > QUIET_MS || unfinished > 0)
      await new Promise((resolve) => setTimeout(resolve, 20));
    const endedMs = atMs + (samples.length / sampleRate) * 1000;
    return { ...current, longestTaskMs: Math.max(0, ...tasks), endedMs };
  },
};

/** A round goes so much faster than real time at most: most listenings come to their end, some give way to speech. */
const FASTER = 4;
const BLOCK_MS = 32;
/** The sound pushed ahead of the worker in a round, and what is left when it has worked everything off. */
const MOST_AHEAD_MS = 12_000;
const QUIET_MS = 1_000;

export type Lab = typeof lab;
(globalThis as unknown as { lab: Lab }).lab = lab;
