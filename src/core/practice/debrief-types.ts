import type { Entry } from '../entry.ts';
import type { Completeness } from '../facts/completeness.ts';
import type { RecordClock } from '../log/clock.ts';
import type { Timing } from '../log/events.ts';
import type { Group } from '../vocabulary/vocabulary.ts';
import type { DrillWay } from './drill.ts';
import type { SlotDifference } from './match.ts';

/** late, early: more than `lateSeconds` (match-rules.json) from the event; wrong: a slot contradicts the truth. */
export type EventStatus = 'called' | 'late' | 'early' | 'wrong' | 'missing';

/**
 * Why an event is missing or wrong. `not-said`: by the script or a person's note; `nothing-heard`: no note, and no
 * speech near it. `misheard`: it was called out and the words came out as others;
 * `asked`: it was heard, and the question about it was not answered; `not-heard`: called out, no speech was found;
 * `called-wrongly`: heard as it was said; `not-known`: something was heard near it, and nobody noted what was said.
 */
export type Cause =
  'not-said' | 'nothing-heard' | 'misheard' | 'asked' | 'not-heard' | 'called-wrongly' | 'not-known';

export interface HeardNear {
  utteranceId: string;
  atMs: number;
  /** What the recogniser wrote. */
  heard: string;
  outcome: 'accept' | 'ask' | 'command' | 'unrecognised';
}

export interface EventDebrief {
  id: string;
  entry: Entry;
  group: Group;
  truthMs: number;
  status: EventStatus;
  recorded: { entryId: string; entry: Entry; atMs: number; timing: Timing; corrected: boolean } | null;
  /** Recorded minus true time, ms; null where it is missing. */
  errorMs: number | null;
  /** Slots that contradict the truth. */
  differences: SlotDifference[];
  /** Slots that the truth has and the record leaves out. */
  leftOut: SlotDifference[];
  /** Null where nobody knows. */
  saidAloud: boolean | null;
  /** Set for missing and wrong. */
  cause: Cause | null;
  /** The scripted words, where a recording was played. */
  spoken: string | null;
  /** What was heard near it, for missing and wrong ones. */
  heard: HeardNear[];
}

/** An entry of the record that no event stands behind. */
export interface ExtraEntry {
  entryId: string;
  entry: Entry;
  atMs: number;
  /** repeat: the same was already called out; unexpected: nothing like it happened. */
  kind: 'repeat' | 'unexpected';
}

/** A length of time by the truth and by the record; null where one end is missing or in doubt. */
export interface ComparedInterval {
  truthMs: number | null;
  recordedMs: number | null;
  /** As the note tells it. */
  truthSeconds: number | null;
  recordedSeconds: number | null;
  /** Recorded minus true. */
  errorMs: number | null;
}

export interface GroupDebrief {
  group: Group;
  events: number;
  /** In the record, right or wrong. */
  recorded: number;
  right: number;
}

export interface RoleDebrief {
  role: string;
  called: EventStatus | null;
  arrived: EventStatus | null;
  /** From the role's own call, else from the call for help, to its arrival. */
  delay: ComparedInterval;
  delayFrom: 'role-called' | 'help-called' | null;
}

export interface OrderDebrief {
  /** Codes in the order in which they were begun. */
  truth: string[];
  recorded: string[];
  /** How many of the truth's stand in the record in the same order (longest common subsequence). */
  inOrder: number;
}

export interface TimeErrorSummary {
  /** Events with a recorded time. */
  count: number;
  /** Of the absolute errors, ms; null where there is none. */
  medianMs: number | null;
  largestMs: number | null;
  within5s: number;
}

export interface Debrief {
  recordId: string;
  scenarioId: string;
  scenarioTitle: string;
  way: DrillWay;
  startedAt: string;
  /** The record's, for whole seconds. */
  clock: RecordClock;
  /** Record time of the first and the last thing on the timeline, ms. */
  fromMs: number;
  toMs: number;
  events: EventDebrief[];
  extras: ExtraEntry[];
  counts: Record<EventStatus, number>;
  timeError: TimeErrorSummary;
  headToBody: ComparedInterval;
  order: OrderDebrief;
  roles: RoleDebrief[];
  groups: GroupDebrief[];
  /** Fields of the note, by group: what the truth would fill, and what the record fills. */
  fields: { truth: Completeness; recorded: Completeness };
  saidAloud: { count: number; of: number };
}
