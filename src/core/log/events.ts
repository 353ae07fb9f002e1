import type { Entry } from '../entry.ts';
import type {
  Alternative,
  Command,
  Problem,
  SecondListening,
  SpokenTime,
} from '../interpret/interpretation.ts';

/** Who made an event. Names are typed by people and never needed. */
export interface Author {
  kind: 'voice' | 'helper' | 'reviewer' | 'facilitator' | 'import' | 'system';
  name?: string;
}

/**
 * Where an entry's time comes from.
 * heard: onset of the speech; spoken-ago and spoken-clock: a time said in the utterance;
 * touch: the moment of the touch; typed: entered by hand afterwards; corrected: shifted by a person.
 */
export type Timing = 'heard' | 'spoken-ago' | 'spoken-clock' | 'touch' | 'typed' | 'corrected';

/** One utterance as it was heard, whatever came of it. Times in ms of the record's clock. */
export interface UtteranceBody {
  kind: 'utterance';
  utteranceId: string;
  onsetMs: number;
  endMs: number;
  heard: string;
  heardSecond?: string;
  /** Set where the sound was listened to again and the outcome owes something to that. */
  secondListening?: SecondListening;
  /** 0 to 1. */
  confidence: number;
  outcome: 'accept' | 'ask' | 'command' | 'unrecognised';
  command?: Command;
  when?: SpokenTime;
  /** Heard in standby, before the record began; its times are its own. */
  inStandby?: true;
  /** Sound that could not be recognised at all, and why; `heard` is then empty. */
  unheard?: 'too-far-behind' | 'recogniser-failed';
}

/**
 * A talk with the family, often days later: an addition with a date of its own that no signature of the birth covers.
 * A later one with the same id takes the place of the earlier, which stays in the log.
 */
export interface ConversationBody {
  kind: 'conversation';
  conversationId: string;
  /** When it was held, as typed: local date and time without a zone, "2026-10-16T10:30". */
  heldAt: string;
  /** Who spoke, and with whom. */
  who: string;
  withWhom: string;
  explained: string;
  asked: string;
  /** Agreed for follow-up, and for a next pregnancy, in the clinician's words. */
  followUp: string;
  nextPregnancy: string;
}

/** A person read the account for the parents and gave it out: what was said in it, word by word, by its hash. */
export interface ReleaseBody {
  kind: 'release';
  releaseId: string;
  name: string;
  role: string;
  /** The clinician's own words in it; '' where there are none. */
  ownWords: string;
  staffNames: boolean;
  /** SHA-256 (hex) of the account's text. */
  textHash: string;
}

/**
 * What can happen to a record. Append-only: a correction, a strike-out, a confirmation is a new
 * event that points at an older one; the view is a fold over the log (fold.ts).
 */
export type EventBody =
  | {
      kind: 'begin';
      mode: 'real' | 'practice';
      reference?: string;
      scenarioId?: string;
      /** Begun from standby: what began it, and since when standby had listened, record time. */
      standby?: { by: 'voice' | 'touch'; sinceMs: number };
      /** First event only: the head of the file, so that the hash chain covers it too. */
      record?: RecordHead;
    }
  | UtteranceBody
  | {
      kind: 'entry';
      entryId: string;
      entry: Entry;
      atMs: number;
      timing: Timing;
      utteranceId?: string;
      estimated?: true;
    }
  | {
      kind: 'question';
      questionId: string;
      utteranceId?: string;
      entries: Entry[];
      alternatives?: Alternative[];
      problem: Problem;
      /** The entry that the answer replaces, where the question is about a correction. */
      replaces?: string;
      /** The entries that "yes" strikes out, where the question is whether to take back what must not go by a slip. */
      strikes?: string[];
      atMs: number;
      timing: Timing;
      estimated?: true;
    }
  /** Answers a question: `entries` are what the person meant (the best reading, an alternative, or edited). */
  | { kind: 'confirm'; questionId: string; entryIds: string[]; entries: Entry[] }
  | { kind: 'reject'; questionId: string }
  /** Brings a question to the strip (again); one that was withdrawn is open again. */
  | { kind: 'ask-again'; questionId: string }
  | { kind: 'strike'; entryId: string; reason?: string }
  | { kind: 'restore'; entryId: string; reason?: string }
  | { kind: 'replace'; entryId: string; entry: Entry; utteranceId?: string; reason?: string }
  | { kind: 'shift'; entryId: string; atMs: number; reason?: string; estimated?: true }
  /** A timestamp to name later; naming it is an `entry` with the same time. */
  | { kind: 'mark'; markId: string; atMs: number; utteranceId?: string }
  | { kind: 'unmark'; markId: string }
  /** A field of the note that is no call-out (record-field ids: facts/fields.json). Empty text clears it. */
  | { kind: 'field'; field: string; value: string }
  /** Difference of the room's clock to this device's clock: shifts displays only. */
  | { kind: 'clock-offset'; roomMinusDeviceMs: number | null; against: string }
  | { kind: 'pause'; atMs: number }
  | { kind: 'resume'; atMs: number }
  /** The browser or device stopped and the record went on: the clock span that begins here. */
  | { kind: 'continued'; spanId: number; atMs: number; wallMs: number; gapKnownFrom: 'device-clock' }
  /**
   * Between `sinceMs` and `atMs` the device's clock went `byMs` further than the record's: it slept, or its clock was
   * set. Which of the two cannot be told.
   */
  | { kind: 'clocks-parted'; sinceMs: number; atMs: number; byMs: number }
  | { kind: 'speech-state'; state: 'listening' | 'unavailable'; why?: string; atMs: number }
  | { kind: 'finish'; atMs: number }
  | { kind: 'reopen'; atMs: number }
  | { kind: 'sign'; name: string; role: string; statement: string }
  | { kind: 'amend'; reason: string }
  /** A person looked at what disagrees or is missing (`about`: its id in the facts) and leaves it as recorded. */
  | { kind: 'stands'; about: string; reason?: string }
  | ConversationBody
  | ReleaseBody;

/** The device that writes a lane: said once, in the lane's first event. */
export interface LaneDevice {
  /** Ed25519 public key, 32 bytes in base64url. Its private half cannot be taken out of the browser. */
  publicKey: string;
}

export type LogEvent = EventBody & {
  /**
   * Place in the order of the record, 0, 1, 2 …: computed, never sealed, and moved by events that arrive late.
   * What an event is called is `lane` and `laneSeq`. (In a record of version 1 this number itself is sealed.)
   */
  seq: number;
  /** Each device writes a chain of its own. Absent in events of version 1, which are the first lane as they are. */
  lane?: string;
  /** 0, 1, 2 … without gaps within its lane. */
  laneSeq?: number;
  /** Heads of other lanes that the writer had newly seen: what it knew when it wrote this. */
  after?: string[];
  /** First event of a lane only. */
  device?: LaneDevice;
  /** Ed25519 over the hash by the lane's device, base64url; not part of the hash. */
  signature?: string;
  by: Author;
  /** When the event was made, ms of the record's clock. */
  madeAtMs: number;
  /** When it was made by the device's wall clock, ISO 8601 with offset. */
  madeAt: string;
  /** SHA-256 (hex) of the event before it in its lane, and of this one including that (chain.ts). */
  previousHash: string;
  hash: string;
};

/** One stretch of a monotonic clock: after a restart of the browser a new span begins. */
export interface ClockSpan {
  spanId: number;
  /** Record time at which the span begins, ms. */
  startMs: number;
  /** Device wall clock at that moment, ms since 1970 UTC. */
  wallMs: number;
}

/** Versions of the parts that decide what an utterance becomes. */
export interface Versions {
  app: string;
  /** Speech model: the first twelve digits of the hash of its list of files. */
  model: string;
  /** Words and phrases: likewise. */
  vocabulary: string;
}

/** What of a record is fixed when it is made. */
export interface RecordHead {
  recordId: string;
  createdAt: string;
  timeZone: string;
  span: ClockSpan;
  /** What heard and kept this record. */
  madeWith?: Versions;
  /** Version of the file that this record was imported from; its chain begins at that import. */
  migratedFrom?: number;
}

/** A record as it is kept and exported. */
export interface RecordFile {
  format: 'utterlog-record';
  /** 1: one chain, its numbers sealed. 2: lanes. A record of version 1 that goes on becomes 2, its chain untouched. */
  version: 1 | 2;
  recordId: string;
  createdAt: string;
  /** IANA time zone for displays, e.g. Europe/London. */
  timeZone: string;
  spans: ClockSpan[];
  events: LogEvent[];
}
