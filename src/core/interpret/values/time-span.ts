import type { SpokenTime } from '../interpretation.ts';

/** A time said within an utterance; without `time` the words speak of a time that cannot be pinned down. */
export interface TimeSpan {
  from: number;
  to: number;
  time?: SpokenTime;
}

export const VAGUE_BEFORE = new Set([
  'about',
  'around',
  'roughly',
  'approximately',
  'nearly',
  'almost',
  'over',
  'under',
  'maybe',
  'just',
  'perhaps',
  'within',
  'least',
  'like',
]);
