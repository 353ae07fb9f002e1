import type { Side } from '../entry.ts';
import type { EntryView } from '../log/view.ts';

/**
 * A derived length of time, or why there is none. Nothing is ever filled in.
 * `ms` is exact; `seconds` is the difference of the times as printed (logged.ts). `byDeviceClockSeconds` is there where
 * the device slept or its clock was set in between: then both figures are told, never one.
 */
export type IntervalValue =
  | { kind: 'known'; ms: number; seconds: number; byDeviceClockSeconds?: number }
  | { kind: 'not recorded'; missing: string }
  | { kind: 'conflict'; why: string };

/** What a reader must know of an interval's ends. */
export type TimeMark =
  | 'estimated'
  | 'corrected'
  | 'typed later'
  | 'across a restart'
  | 'two figures: the device slept or its clock was set in between'
  | 'at most: no end called out';

export interface IntervalInput {
  label: string;
  /** Record time, null where nothing was logged. */
  atMs: number | null;
  entryIds: string[];
}

export interface Interval {
  id: string;
  label: string;
  value: IntervalValue;
  /** In words, e.g. "baby delivered − head delivered". */
  formula: string;
  inputs: IntervalInput[];
  entryIds: string[];
  estimated: boolean;
  marks: TimeMark[];
}

/**
 * Why a manoeuvre counts as ended. `called`, `outcome` and `hand-out` were said. `delivery`, `replaced` (another
 * position, side or kind) and `followed` (the next internal manoeuvre) only bound it: it ran until then at most.
 */
export type SpanEnd =
  | { kind: 'called' | 'outcome' | 'hand-out' | 'delivery'; atMs: number; entryId: string }
  | { kind: 'replaced' | 'followed'; atMs: number; entryId: string; by: string }
  | { kind: 'not recorded' };

export interface ManoeuvreSpan {
  /** 1, 2, 3 … in the order in which they were begun. */
  number: number;
  code: string;
  /** The entry that began it, or the one that told of it where no beginning was called out. */
  first: EntryView;
  /** Null where only its end or result was called out. */
  startMs: number | null;
  end: SpanEnd;
  /** As called out; "no effect" is kept apart because several may have been under way. */
  outcome: 'done' | 'failed' | 'succeeded' | null;
  outcomeAtMs: number | null;
  noEffect: { atMs: number; entryId: string; shared: boolean }[];
  /** Every entry that it rests on, in order. */
  entryIds: string[];
  /** Start of the next manoeuvre, whichever it is; null for the last. */
  nextStartMs: number | null;
  estimated: boolean;
}

export interface Conflict {
  id: string;
  kind:
    'twice' | 'order' | 'arrival' | 'stop without start' | 'sides' | 'apgar' | 'value' | 'finding' | 'apart';
  /** Both readings, with their times. Says what disagrees, never which is right. */
  sentence: string;
  entryIds: string[];
}

/** A fact that says on which side of the mother the baby's back lay. */
export interface SideReading {
  fact: 'position' | 'head-faces' | 'fetal-back' | 'anterior-shoulder' | 'suprapubic-side';
  /** As recorded, e.g. "head faces the mother's left". */
  said: string;
  impliesBack: Side;
  entryId: string;
  atMs: number;
}

/** A side that nobody gave. It is asked for without an answer being offered. */
export interface SideQuestion {
  id: string;
  question: string;
}

export interface SideFacts {
  readings: SideReading[];
  consistency: 'consistent' | 'contradiction' | 'nothing to compare';
  contradictions: Conflict[];
  questions: SideQuestion[];
}
