import type { Entry } from '../entry.ts';
import type { Alternative, Problem } from '../interpret/interpretation.ts';
import type { Clash } from './clashes.ts';
import type {
  Author,
  ClockSpan,
  ConversationBody,
  LogEvent,
  ReleaseBody,
  Timing,
  UtteranceBody,
} from './events.ts';

/** One change of an entry after it was made; `entry`, `atMs` and `estimated` are what stood before it. */
export interface EntryChange {
  kind: 'strike' | 'restore' | 'replace' | 'shift';
  seq: number;
  by: Author;
  madeAtMs: number;
  madeAt: string;
  reason?: string;
  entry: Entry;
  atMs: number;
  estimated?: true;
}

/** An entry as it stands now, with everything that happened to it. */
export interface EntryView {
  entryId: string;
  entry: Entry;
  atMs: number;
  timing: Timing;
  estimated: boolean;
  status: 'logged' | 'struck';
  /** Who made it, and when it was made (not when it happened). */
  by: Author;
  madeAtMs: number;
  /** True when made after the finish of the emergency or typed afterwards. */
  addedLater: boolean;
  utteranceId?: string;
  /** Set when it came from a question that a person answered. */
  confirmedBy?: Author;
  /** Sequence numbers of the events that made or changed it, oldest first. */
  history: number[];
  changes: EntryChange[];
  /** Set where two devices changed it apart and nobody who saw both has settled it. */
  clashes?: Clash[];
}

export interface QuestionView {
  questionId: string;
  utteranceId?: string;
  entries: Entry[];
  alternatives: Alternative[];
  problem: Problem;
  /** The entry that the answer replaces. */
  replaces?: string;
  /** The entries that "yes" strikes out. */
  strikes?: string[];
  atMs: number;
  timing: Timing;
  estimated?: true;
  /** When it was answered or withdrawn, ms of the record's clock; absent while it is open. */
  settledAtMs?: number;
  state: 'open' | 'confirmed' | 'rejected';
  seq: number;
  by: Author;
}

export interface UtteranceView extends Omit<UtteranceBody, 'kind'> {
  seq: number;
  entryIds: string[];
  questionId?: string;
  /** Who typed it, where it was not spoken. */
  typedBy?: Author;
}

export interface Signature {
  name: string;
  role: string;
  statement: string;
  seq: number;
  madeAt: string;
}

/** Who wrote an event, its number and when it was written (ISO 8601). */
interface Written {
  by: Author;
  seq: number;
  madeAt: string;
}

/** What was left as recorded by a person who looked at it. */
export interface StandsView extends Written {
  about: string;
  reason?: string;
}

/** `earlier`: how often it was written before, where it was corrected. */
export interface ConversationView extends Omit<ConversationBody, 'kind'>, Written {
  earlier: number;
}

/** `superseded`: the record was amended or added to since, so that copies of this release are out of date. */
export interface ReleaseView extends Omit<ReleaseBody, 'kind'>, Written {
  superseded: { seq: number; madeAt: string } | null;
}

/** The state of a record: a pure fold over its events. Entries are in time order, then by sequence. */
export interface RecordView {
  mode: 'real' | 'practice';
  reference: string;
  scenarioId?: string;
  /** Set where standby began the record. */
  standby?: { by: 'voice' | 'touch'; sinceMs: number };
  timeZone: string;
  spans: readonly ClockSpan[];
  entries: EntryView[];
  questions: QuestionView[];
  utterances: UtteranceView[];
  marks: { markId: string; atMs: number }[];
  fields: Record<string, { value: string; by: Author; seq: number; madeAt: string }>;
  clockOffset: { roomMinusDeviceMs: number; against: string } | null;
  paused: boolean;
  finishedAtMs: number | null;
  signatures: Signature[];
  amendments: { reason: string; seq: number; madeAt: string; by: Author }[];
  /** By what it is about; the last word stands. */
  stands: Record<string, StandsView>;
  /** Talks with the family in the days after, by the time at which they were held. */
  conversations: ConversationView[];
  /** Accounts for the parents that were given out, oldest first. */
  releases: ReleaseView[];
  /** Stretches in which speech was not heard, and restarts of the browser, in record time. */
  interruptions: {
    kind: 'restart' | 'speech-unavailable' | 'paused' | 'clocks-parted';
    fromMs: number;
    toMs: number | null;
    why?: string;
    /** Of clocks that parted: how much further the device's clock went, ms; negative where it was set back. */
    byMs?: number;
  }[];
  /** Events that had nothing to apply to (a second answer, an unknown entry); kept, shown, without effect. */
  withoutEffect: { seq: number; why: string }[];
  events: readonly LogEvent[];
}
