import { Background, frameDb, IdleLevel } from './background.ts';
import { quietestPoint, riseOver, speechEdges } from './onset.ts';
import { samplesIn, SPEECH_RATE } from './resample.ts';
import data from './segmenter.json' with { type: 'json' };

/** Lengths in ms, probabilities 0…1; measured choice in segmenter.json. */
export type SegmenterOptions = Omit<typeof data, 'onset' | 'background' | 'rise'>;

/** A stretch of speech between two pauses. Times in ms of the stream's own clock. */
export interface Utterance {
  id: number;
  onsetMs: number;
  endMs: number;
  /** Where `samples` begin. */
  fromMs: number;
  /** What is recognised: a short lead, the speech, a short tail. 16 kHz. */
  samples: Float32Array;
  /** The part of `samples` that is speech, ms. */
  speechMs: number;
  /** True where speech went on without a pause and had to be cut at the quietest point. */
  cut: boolean;
}

export type SegmentEvent =
  | { kind: 'start'; id: number; onsetMs: number }
  /** A first pause: the utterance may be over. Its recognition can begin. */
  | { kind: 'pause'; utterance: Utterance }
  /** It was not over: what was begun for this id is void. */
  | { kind: 'resume'; id: number }
  /** It is over; the same utterance as at its last pause. */
  | { kind: 'utterance'; utterance: Utterance }
  /** Too short for speech: a click, a cough. Nothing is recognised. */
  | { kind: 'misfire'; id: number; onsetMs: number; endMs: number };

export interface Segmenter {
  /** One frame of 16 kHz sound and the probability that it holds speech. */
  push(frame: Float32Array, probability: number): SegmentEvent[];
  /** The stream ends here: an utterance under way ends with it. */
  flush(): SegmentEvent[];
  /** Stream time up to which nothing is needed any more, ms: everything before has been told. */
  settledMs(): number;
}

const msOf = (sample: number): number => Math.round((sample * 1000) / SPEECH_RATE);

/** A pure state machine over frames. `baseMs`: the stream clock's time of the first sample. */
export function makeSegmenter(baseMs = 0, options: SegmenterOptions = data, firstId = 0): Segmenter {
  const lead = samplesIn(options.preRollMs + data.onset.lookBackMs);
  /** Sound kept: while nobody speaks the lead alone, else from the lead before the speech on. */
  let kept = new Float32Array(0);
  let keptFrom = 0;
  const background = new Background();
  const idle = new IdleLevel();
  /** What the background was like before the utterance under way. */
  let backgroundDb: number | null = null;
  let nextId = firstId;
  let open: { id: number; from: number; to: number; speech: number; pause: Utterance | null } | null = null;

  const end = (): number => keptFrom + kept.length;
  const timeOf = (sample: number): number => baseMs + msOf(sample);

  /** Keeps the sound from `from` on. */
  const forget = (from: number): void => {
    if (from <= keptFrom) return;
    kept = kept.slice(from - keptFrom);
    keptFrom = from;
  };

  /** The utterance with speech between samples `from` and `to`, with lead and tail as far as they exist. */
  const utteranceOf = (id: number, from: number, to: number, cut: boolean, until = end()): Utterance => {
    const near = Math.max(keptFrom, from - lead);
    const far = Math.min(until, to + samplesIn(options.tailMs));
    const clip = kept.subarray(near - keptFrom, far - keptFrom);
    const edges = speechEdges(clip, from - near, to - near);
    const [onset, last] = [near + edges.from, cut ? to : near + edges.to];
    const start = Math.max(
      keptFrom,
      onset - samplesIn(options.preRollMs),
      far - samplesIn(options.longestMs),
    );
    // The sound keeps all that the detector took for speech: a soft first word is heard, whatever its time.
    const risen =
      backgroundDb === null ? onset : near + riseOver(clip, onset - near, last - near, backgroundDb);
    return {
      id,
      onsetMs: timeOf(risen),
      endMs: timeOf(last),
      fromMs: timeOf(start),
      samples: kept.slice(start - keptFrom, far - keptFrom),
      speechMs: msOf(last - onset),
      cut,
    };
  };

  const close = (): SegmentEvent[] => {
    const { id, from, to, speech, pause } = open!;
    open = null;
    if (msOf(speech) < options.leastSpeechMs) {
      return [{ kind: 'misfire', id, onsetMs: timeOf(from), endMs: timeOf(to) }];
    }
    return [{ kind: 'utterance', utterance: pause ?? utteranceOf(id, from, to, false) }];
  };

  /** Speech without a pause has reached the limit: cut at the quietest point and go on. */
  const split = (): SegmentEvent[] => {
    const { id, from, to } = open!;
    const earliest = Math.max(keptFrom, from + samplesIn(options.splitAfterMs));
    const at = keptFrom + quietestPoint(kept, earliest - keptFrom, to - keptFrom, options.splitWindowMs);
    const utterance = utteranceOf(id, from, at, true, at);
    const nextSpeech = nextId++;
    open = { id: nextSpeech, from: at, to, speech: to - at, pause: null };
    forget(at);
    return [
      { kind: 'utterance', utterance },
      { kind: 'start', id: nextSpeech, onsetMs: timeOf(at) },
    ];
  };

  return {
    push(frame, detected) {
      const levelDb = frameDb(frame);
      const probability = background.isNear(levelDb) ? detected : 0;
      const events: SegmentEvent[] = [];
      const from = end();
      const grown = new Float32Array(kept.length + frame.length);
      grown.set(kept);
      grown.set(frame, kept.length);
      kept = grown;

      if (!open) {
        if (probability < options.startProbability) {
          idle.add(levelDb);
          forget(end() - lead);
          return events;
        }
        backgroundDb = idle.loudDb();
        open = { id: nextId++, from, to: end(), speech: frame.length, pause: null };
        return [{ kind: 'start', id: open.id, onsetMs: timeOf(from) }];
      }
      const threshold = open.pause ? options.startProbability : options.stopProbability;
      if (probability >= threshold) {
        if (open.pause) events.push({ kind: 'resume', id: open.id });
        open.pause = null;
        open.to = end();
        open.speech += frame.length;
        if (msOf(open.to - open.from) + options.preRollMs >= options.longestMs) events.push(...split());
        return events;
      }
      const silenceMs = msOf(end() - open.to);
      if (silenceMs >= options.hangOverMs) return [...events, ...close()];
      const spoken = msOf(open.speech) >= options.leastSpeechMs;
      if (!open.pause && spoken && silenceMs >= options.pauseMs) {
        open.pause = utteranceOf(open.id, open.from, open.to, false);
        events.push({ kind: 'pause', utterance: open.pause });
      }
      return events;
    },
    flush: () => (open ? close() : []),
    settledMs: () => timeOf(open ? keptFrom : end()),
  };
}
