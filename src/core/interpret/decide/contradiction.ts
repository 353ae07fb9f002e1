import type { Entry } from '../../entry.ts';
import type { Vocabulary } from '../../vocabulary/vocabulary.ts';
import { single, type Call } from '../sentence/calls.ts';

/** Slots that say which of several things of one code is meant: two Apgar scores differ in their minute. */
const WHICH = ['phase', 'role', 'minute', 'vessel', 'drug', 'dose', 'bone', 'text'] as const;
/** Each of the baby's arms and bones has a state of its own. */
const EACH_SIDE = new Set(['arm-movement', 'suspected-fracture']);

/** Do two entries of one breath say different things of the same thing? Neither then stands unasked. */
function contradicts(one: Entry, other: Entry): boolean {
  if (one.code !== other.code) return false;
  if (WHICH.some((slot) => one[slot] !== other[slot])) return false;
  if (EACH_SIDE.has(one.code) && one.babySide !== other.babySide) return false;
  return JSON.stringify(one) !== JSON.stringify(other);
}

/** Marks calls of one breath that contradict each other ("second degree tear, actually third degree"). */
export function markContradictions(calls: readonly Call[]): void {
  calls.forEach((call, index) => {
    for (const later of calls.slice(index + 1)) {
      if (!call.entries.some((one) => later.entries.some((other) => contradicts(one, other)))) continue;
      call.problem ??= 'unclear';
      later.problem ??= 'unclear';
    }
  });
}

/** May the second have been said to put the first right ("Woods screw, no, reverse Woods screw")? */
export function mayReplace(first: Call, second: Call, vocabulary: Vocabulary): boolean {
  const [one, other] = [single(first), single(second)];
  if (!one || !other) return false;
  const group = (code: string): string | undefined => vocabulary.codes.get(code)?.group;
  return (
    one.code === other.code ||
    (group(one.code) === 'manoeuvres' && group(other.code) === 'manoeuvres') ||
    vocabulary.lookAlikes.pairs.some(({ codes }) => codes.includes(one.code) && codes.includes(other.code))
  );
}
