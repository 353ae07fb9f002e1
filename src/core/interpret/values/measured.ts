import type { Entry } from '../../entry.ts';
import type { Problem } from '../interpretation.ts';

/** What a parser of measured values found at a place of the utterance. */
export interface Measured {
  from: number;
  to: number;
  entries: Entry[];
  problem?: Problem;
  alternatives?: Entry[][];
}
