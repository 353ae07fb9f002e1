import type { Facts } from '../facts/derive.ts';
import type { IntervalValue } from '../facts/types.ts';
import type { EntryView, RecordView } from '../log/view.ts';
import { codeInfo } from '../vocabulary/code-info.ts';
import type { Group, Vocabulary } from '../vocabulary/vocabulary.ts';
import type {
  ComparedInterval,
  EventDebrief,
  GroupDebrief,
  OrderDebrief,
  RoleDebrief,
  TimeErrorSummary,
} from './debrief-types.ts';
import type { Drill, DrillTruth } from './drill.ts';

/** The truth as a record would hold it, so that the same rules give its facts. */
export function truthView(drill: Drill, view: RecordView): RecordView {
  return {
    ...view,
    entries: drill.truth.map(asEntry),
    questions: [],
    utterances: [],
    marks: [],
    fields: {},
    interruptions: [],
  };
}

const asEntry = ({ id, atMs, entry }: DrillTruth, seq: number): EntryView => ({
  entryId: id,
  entry,
  atMs,
  timing: 'touch',
  estimated: false,
  status: 'logged',
  by: { kind: 'facilitator' },
  madeAtMs: atMs,
  addedLater: false,
  history: [seq],
  changes: [],
});

type Length = Extract<IntervalValue, { kind: 'known' }>;

const lengthOf = (facts: Facts, id: string): Length | null => {
  const value = facts.intervals.find((interval) => interval.id === id)?.value;
  return value?.kind === 'known' ? value : null;
};

/** An interval of facts/intervals.ts, by the truth and by the record. */
export function compareInterval(truth: Facts, recorded: Facts, id: string): ComparedInterval {
  const [real, told] = [lengthOf(truth, id), lengthOf(recorded, id)];
  return {
    truthMs: real?.ms ?? null,
    recordedMs: told?.ms ?? null,
    truthSeconds: real?.seconds ?? null,
    recordedSeconds: told?.seconds ?? null,
    errorMs: real === null || told === null ? null : told.ms - real.ms,
  };
}

/** Manoeuvres in the order of their beginning, by the truth and by the record. */
export function compareOrder(truth: Facts, recorded: Facts): OrderDebrief {
  const codes = (facts: Facts) => facts.manoeuvres.map((span) => span.code);
  const [a, b] = [codes(truth), codes(recorded)];
  return { truth: a, recorded: b, inOrder: longestCommon(a, b) };
}

/** Length of the longest common subsequence. */
export function longestCommon(a: readonly string[], b: readonly string[]): number {
  let row = new Array<number>(b.length + 1).fill(0);
  for (const x of a) {
    const next = [0];
    for (const [at, y] of b.entries()) next.push(x === y ? row[at]! + 1 : Math.max(row[at + 1]!, next[at]!));
    row = next;
  }
  return row[b.length]!;
}

/** Every role that was called or came, in the order of the events. */
export function compareRoles(events: readonly EventDebrief[], truth: Facts, recorded: Facts): RoleDebrief[] {
  const ofTeam = events.filter(({ entry }) => entry.code === 'role-called' || entry.code === 'role-arrived');
  return [...new Set(ofTeam.map(({ entry }) => entry.role!))].map((role) => {
    const status = (code: string) =>
      ofTeam.find(({ entry }) => entry.code === code && entry.role === role)?.status ?? null;
    const arrived = status('role-arrived');
    const own = lengthOf(truth, `called-to-${role}`) !== null;
    const id = own ? `called-to-${role}` : `help-to-${role}-1`;
    const delay = compareInterval(truth, recorded, id);
    const from = own ? 'role-called' : 'help-called';
    return {
      role,
      called: status('role-called'),
      arrived,
      delay,
      delayFrom: delay.truthMs === null ? null : from,
    };
  });
}

/** Events of each group of the vocabulary: how many happened, stand in the record, and stand there rightly. */
export function compareGroups(events: readonly EventDebrief[]): GroupDebrief[] {
  const groups: GroupDebrief[] = [];
  for (const { group, status } of events) {
    let found = groups.find((known) => known.group === group);
    if (!found) groups.push((found = { group, events: 0, recorded: 0, right: 0 }));
    found.events += 1;
    if (status !== 'missing') found.recorded += 1;
    if (status !== 'missing' && status !== 'wrong') found.right += 1;
  }
  return groups;
}

export const groupOf = (code: string, vocabulary: Vocabulary): Group => codeInfo(vocabulary, code).group;

/** Middle value, or the mean of the two middle ones; null of nothing. */
export function median(values: readonly number[]): number | null {
  if (values.length === 0) return null;
  const sorted = [...values].sort((a, b) => a - b);
  const middle = sorted.length >> 1;
  return sorted.length % 2 === 1 ? sorted[middle]! : (sorted[middle - 1]! + sorted[middle]!) / 2;
}

/** Of the absolute time errors of all events that stand in the record. */
export function timeErrors(events: readonly EventDebrief[]): TimeErrorSummary {
  const sizes = events.flatMap(({ errorMs }) => (errorMs === null ? [] : [Math.abs(errorMs)]));
  return {
    count: sizes.length,
    medianMs: median(sizes),
    largestMs: sizes.length === 0 ? null : Math.max(...sizes),
    within5s: sizes.filter((size) => size <= 5_000).length,
  };
}
