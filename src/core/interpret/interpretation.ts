import type { Entry } from '../entry.ts';
import type { Problem } from '../slots.ts';

/** One decoder's reading of an utterance. */
export interface Reading {
  text: string;
  /** Natural log-probability of each token, end token last; absent for typed text. */
  logProbabilities?: readonly number[];
  /** Present where the reading never ended by itself: it repeated itself, or outran the length of the speech. */
  cutShort?: 'repeats' | 'length';
}

/**
 * Something else that the untouched decoder, led along the tuned words, could have heard at one place.
 * `at`: which word of the tuned reading, from 0; the number of words stands for the end.
 * Both figures in nats (natural logarithm): `instead`: how much more probable the tuned word is than the rival,
 * negative where the rival is; `added`: how improbable it is that the rival stands before that word (0 = certain);
 * `dropped`: how much more probable the tuned word is than that nothing stands there (`rival` is empty).
 */
export interface Doubt {
  at: number;
  kind: 'instead' | 'added' | 'dropped';
  rival: string;
  untouchedNats: number;
  tunedNats: number;
}

/**
 * What the recogniser hands to the interpreter: the tuned decoder's words and, where it ran,
 * the untouched decoder's words for the same sound. Without `untouched` the text counts as certain.
 */
export interface Heard {
  tuned: Reading;
  untouched?: Reading;
  /** The nearest rivals of the tuned words by both decoders; absent where nothing weighed them. */
  doubts?: readonly Doubt[];
  /** Length of the speech in milliseconds, for the length bound. */
  speechMs?: number;
}

/**
 * What listening to an utterance again, at another speed, gave: it confirmed what would have been asked (its own
 * readings are kept); found what had not been recognised, to be asked (likewise); gave one more answer to the
 * question; or doubted what had been accepted less surely, since no other listening heard the same.
 */
export type SecondListening = 'confirmed' | 'found' | 'alternative' | 'doubted';

export type CommandCode =
  | 'undo'
  | 'correct'
  | 'mark'
  | 'read-back'
  | 'elapsed'
  | 'clock'
  | 'begin'
  | 'finish'
  | 'drill-begin'
  | 'drill-end'
  | 'confirm'
  | 'reject'
  | 'pause'
  | 'resume'
  | 'next-question'
  | 'baby-clock';

export interface Command {
  code: CommandCode;
  /** `elapsed` only: the entry code that time is wanted from. */
  since?: string;
  /** `undo` only: the entry code to strike out, where one was named. */
  target?: string;
}

/** Why something is asked: the list stands in slots.json. */
export type { Problem };

/** A spoken time; it holds for every entry of the line. */
export type SpokenTime = { agoSeconds: number } | { clock: string };

export interface Alternative {
  entries: Entry[];
}

interface Common {
  when?: SpokenTime;
}

/** What an utterance means. Nothing is lost: an unrecognised one keeps its text in the log. */
export type Interpretation =
  | (Common & { outcome: 'accept'; entries: Entry[] })
  /** `command` is set where a correction's replacement is itself the question. */
  | (Common & {
      outcome: 'ask';
      entries: Entry[];
      alternatives?: Alternative[];
      problem: Problem;
      command?: Command;
    })
  | (Common & { outcome: 'command'; entries: Entry[]; command: Command })
  | (Common & { outcome: 'unrecognised'; entries: [] });

/** A meaning with how sure the reading is, from 0 to 1. */
export type Interpreted = Interpretation & { confidence: number };

/** What the interpreter may know of the moment; never needed for a clear reading. */
export interface InterpretContext {
  /** True while the log holds an unanswered question: a bare yes or no then answers it. */
  asking: boolean;
  /** The entry made last that holds a side, if lately made: what "no, the left" is about. */
  last?: Entry;
  /** True where an amount of lost blood stands in the record: a bare further one may be all or more of it. */
  measuredLoss?: boolean;
  /** False where no manoeuvre stands in the record so far. Not known: as if one did. */
  tried?: boolean;
}
